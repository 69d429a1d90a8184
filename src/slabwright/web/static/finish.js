// The finish: the next coat as the clock goes, coats that are logged, systems typed line by line and tried, ticks of mixing cards.

import { Refused, ask, changes, edit, job, later, revision, say, show, stated, wrong } from "./bench.js";
import { takenInSight, ticks } from "./ticks.js";

// The next coat, as the clock stands

const next = document.querySelector("[data-next]");
async function refresh() {
  try {
    for (const one of await ask(`/api/jobs/${job}/finish/next`)) {
      const place = next.querySelector(`[data-on="${one.on}"]`);
      if (!place) continue;
      const great = place.querySelector("[data-great]");
      if (great.textContent !== one.great) great.textContent = one.great;
      place.querySelector("[data-said]").textContent = one.said;
      place.className = one.voice;
      const mark = place.querySelector(".voice");
      if (mark && !place.matches(".go, .care")) mark.remove();
      else if (!mark && place.matches(".go, .care")) great.before(voice(one.voice, one.voice === "go" ? "Go" : "Care"));
      else if (mark) { mark.className = `voice ${one.voice}`; mark.textContent = one.voice === "go" ? "Go" : "Care"; }
    }
  } catch { /* the link is down: what is shown stays */ }
}
if (next) setInterval(() => { if (!document.hidden) refresh(); }, 60_000);

function local(moment) {
  const two = (number) => String(number).padStart(2, "0");
  return `${moment.getFullYear()}-${two(moment.getMonth() + 1)}-${two(moment.getDate())}T${two(moment.getHours())}:${two(moment.getMinutes())}`;
}

for (const form of document.querySelectorAll("[data-on-now]")) {
  const at = form.elements.at;
  at.value = local(new Date());
  let typed = false;
  at.addEventListener("input", () => { typed = true; });
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (!typed) at.value = local(new Date());
    const entry = { operation: form.dataset.operation, event: "done", at: at.value.slice(0, 16) };
    const send = async () => {
      try {
        await edit({ [`log[${form.dataset.number}]`]: entry }, { why: `${form.dataset.operation} is on` });
      } catch (error) {
        if (error instanceof Refused) wrong(form, error.status === 409 ? "Another device was quicker: look at theirs, then say it again." : error.message);
        else later(send);
      }
    };
    wrong(form, "");
    send();
  });
}

// What is typed is tried at once

let asking = 0;
async function attempt(form, values) {
  const box = form.querySelector("[data-answer]");
  if (!Object.keys(values).length) return box.replaceChildren();
  const number = ++asking;
  box.setAttribute("aria-busy", "true");
  try {
    const came = await ask(`/api/jobs/${job}/finish/try`, { method: "POST", json: { revision: revision(), values } });
    if (number !== asking) return;
    wrong(form, "");
    tell(box, came, form.dataset.system);
  } catch (error) {
    if (number !== asking) return;
    box.replaceChildren();
    if (error instanceof Refused) wrong(form, error.message);
    else say("The link is down: what is typed cannot be tried.");
  } finally {
    if (number === asking) box.removeAttribute("aria-busy");
  }
}

function voice(kind, word) {
  const mark = document.createElement("span");
  mark.className = `voice ${kind}`;
  mark.textContent = word;
  return mark;
}

function tell(box, came, on) {
  const lines = [];
  for (const one of came.systems) {
    if (on && one.on !== on) continue;
    const line = document.createElement("p");
    const head = document.createElement("strong");
    head.textContent = `${one.on === "wood" ? "Wood" : "Steel"}: usable ${one.start.usable}`;
    const { coats, hours, money, film, amount } = one.system;
    line.append(head, ` ${coats} ${coats === 1 ? "coat" : "coats"} (${one.start.coats.join("; ") || "no start stated"}), ${amount}, ${hours} hands on it, cans ${money}${film ? `, film ${film}` : ""}.`);
    lines.push(line);
  }
  for (const one of came.problems) {
    if (one.severity === "note") continue;
    const line = document.createElement("p");
    line.append(voice(one.severity === "stop" ? "stop" : "care", one.voice), ` ${one.message} ${one.remedy}`);
    lines.push(line);
  }
  if (!lines.length) lines.push(document.createTextNode("Nothing is coated so."));
  box.replaceChildren(...lines);
}

for (const form of document.querySelectorAll("form[data-try]")) {
  let timer = 0;
  form.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(() => {
      const values = {};
      for (const [name, value] of Object.entries(changes(form))) values[name] = stated(form.elements[name], value);
      attempt(form, values);
    }, 150);
  });
  form.addEventListener("reset", () => setTimeout(() => form.querySelector("[data-answer]").replaceChildren()));
  if (Object.keys(changes(form)).length) form.dispatchEvent(new Event("input"));
}

// A system, line by line

for (const form of document.querySelectorAll("form[data-system]")) {
  const on = form.dataset.system;
  const list = form.querySelector(".lines-typed");
  const before = list.innerHTML;
  const first = JSON.stringify(lines());

  function lines() {
    return [...list.children].map((line) => {
      const part = (name) => line.querySelector(`[data-part=${name}]`).value.trim();
      const row = { coating: part("coating") };
      const coats = part("coats");
      if (coats) row.coats = /^[0-9]+$/.test(coats) ? Number(coats) : coats;
      if (part("then") !== "coat") row.then = part("then");
      return row;
    });
  }
  function values() {
    const found = lines();
    return JSON.stringify(found) === first ? {} : { [`finish.${on}`]: found.length ? found : null };
  }
  let timer = 0;
  function soon() {
    [...list.children].forEach((line, number) => { line.querySelector("legend").textContent = `Line ${number + 1}`; });
    clearTimeout(timer);
    timer = setTimeout(() => attempt(form, values()), 150);
  }
  form.addEventListener("input", soon);
  form.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    const line = button?.closest("[data-line]");
    if (!button) return;
    if (button.matches("[data-add]")) {
      list.append(form.querySelector("template").content.firstElementChild.cloneNode(true));
      list.lastElementChild.querySelector("select").focus();
    } else if (button.matches("[data-remove]")) {
      const nearest = line.nextElementSibling || line.previousElementSibling;
      line.remove();
      (nearest?.querySelector("select") || form.querySelector("[data-add]")).focus();
    } else if (button.matches("[data-move]")) {
      const other = Number(button.dataset.move) < 0 ? line.previousElementSibling : line.nextElementSibling;
      if (!other) return say("It is at the end already.");
      if (Number(button.dataset.move) < 0) other.before(line); else other.after(line);
      button.focus();
    } else return;
    soon();
  });
  form.addEventListener("reset", (event) => {
    event.preventDefault();
    list.innerHTML = before;
    wrong(form, "");
    form.querySelector("[data-answer]").replaceChildren();
  });
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const wanted = values();
    if (!Object.keys(wanted).length) return say("Nothing was changed.");
    const send = async () => {
      try {
        await edit(wanted, { why: `coats on the ${on} changed`, reload: false });
        show();
      } catch (error) {
        if (error instanceof Refused) wrong(form, error.status === 409 ? "Another device was quicker: look at theirs first; yours is kept as a draft on history." : error.message);
        else later(send);
      }
    };
    send();
  });
}

ticks(document.querySelectorAll("[data-tick]"), "mixed");
takenInSight();
