// A new job from six answers, and one that comes as files.

import { Refused, ask, keep, keeping, later, say, wrong } from "./bench.js";

const form = document.querySelector("[data-new]");
if (keeping(form)) say("What was typed before is here again.");

function examples() {
  const units = form.elements.units.value;
  for (const field of form.querySelectorAll("[data-metric]")) {
    field.placeholder = units === "inch" ? field.dataset.inch : field.dataset.metric;
  }
}
form.addEventListener("change", examples);
examples();

// What is wrong with an answer stands at its question, and goes when the answer is changed.

function clear(key) {
  for (const place of form.querySelectorAll(key ? `[data-wrong-at="${key}"]` : "[data-wrong-at]")) {
    const field = document.getElementById(place.dataset.of);
    field?.removeAttribute("aria-invalid");
    field?.removeAttribute("aria-describedby");
    place.remove();
  }
}

function tell({ key, error, choices }) {
  const named = form.elements.namedItem(key); // not elements[key]: of `length` that is their number
  const field = named instanceof RadioNodeList ? named[0] : named;
  const place = document.createElement("div");
  place.dataset.wrongAt = key;
  const words = document.createElement("p");
  words.className = "wrong";
  words.id = `wrong-${key}`;
  words.textContent = `${error[0].toUpperCase()}${error.slice(1)}.`;
  place.append(words);
  place.dataset.of = field.id;
  if (choices.length) {
    const row = document.createElement("p");
    row.className = "row";
    for (const choice of choices) {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = choice;
      button.addEventListener("click", () => { field.value = choice; field.dispatchEvent(new Event("input", { bubbles: true })); field.focus(); });
      row.append(button);
    }
    place.append(row);
  }
  field.setAttribute("aria-invalid", "true");
  field.setAttribute("aria-describedby", words.id);
  field.closest("p, fieldset").after(place);
  return field;
}
form.addEventListener("input", (event) => clear(event.target.name));

async function begin() {
  clear(); // before anything else is told: these are the form's first words otherwise
  wrong(form, "");
  const json = Object.fromEntries(new FormData(form));
  try {
    const { wrong: found } = await ask("/api/jobs/answers", { method: "POST", json });
    if (found.length) {
      wrong(form, found.length === 1 ? "One answer cannot be used yet." : `${found.length} answers cannot be used yet.`);
      const [first] = found.map(tell);
      first.focus();
      return;
    }
    const saved = await ask("/api/jobs", { method: "POST", json });
    keep(form, {});
    location.assign(`/jobs/${saved.job}/brief`);
  } catch (error) {
    if (error instanceof Refused) wrong(form, error.message);
    else later(begin);
  }
}
form.addEventListener("submit", (event) => { event.preventDefault(); begin(); });

const bring = document.querySelector("[data-import]");
bring.addEventListener("submit", async (event) => {
  event.preventDefault();
  wrong(bring, "");
  try {
    const saved = await ask("/api/jobs/import", { method: "POST", form: new FormData(bring) });
    location.assign(`/jobs/${saved.job}/brief`);
  } catch (error) {
    wrong(bring, error instanceof Refused ? error.message : "The link is down; choose the files again when it is back.");
  }
});
