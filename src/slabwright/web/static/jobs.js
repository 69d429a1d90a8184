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

async function begin() {
  wrong(form, "");
  try {
    const saved = await ask("/api/jobs", { method: "POST", json: Object.fromEntries(new FormData(form)) });
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
