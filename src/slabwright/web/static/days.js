// The days: pin by date, promise, free what conflicts; the strips fill in when they are worked out.

import { Refused, ask, body, say, wrong } from "./bench.js";
import { refresh } from "./days_live.js";

const job = Number(body.dataset.job);

// Pinned or freed, and not worked out yet: the field keeps what was typed, and says so.

const waiting = new Map();
document.querySelector("[data-body]").addEventListener("filled", (event) => {
  if (event.target.querySelector("[data-known]")?.dataset.known === "yes") return waiting.clear();
  for (const form of event.target.querySelectorAll("form[data-pin]")) {
    if (!waiting.has(form.dataset.pin)) continue;
    const at = waiting.get(form.dataset.pin);
    if (at) form.elements.at.value = at;
    const words = document.createElement("p");
    words.className = "waits";
    words.append(Object.assign(document.createElement("span"), { className: "voice go", textContent: at ? "Pinned:" : "Freed:" }), " the days are being worked out anew.");
    form.append(words);
  }
});

async function change(address, json, form) {
  body.dataset.saving = "yes";
  try {
    const changed = await ask(address, { method: "POST", json });
    if (changed.job === job) body.dataset.revision = changed.revision;
    if (json.operation) waiting.set(json.operation, json.at?.slice(0, 16) ?? null);
    await refresh(true);
  } catch (error) {
    const words = error instanceof Refused ? error.message : "The link is down; nothing was changed. Press it again when it is back.";
    if (form) wrong(form, words);
    else say(words, 10);
  } finally {
    delete body.dataset.saving;
  }
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  const data = button.dataset;
  if (data.way) {
    const { address, send } = JSON.parse(data.way);
    change(address, send);
  } else if (data.free !== undefined) change(`/api/jobs/${job}/pins`, { operation: data.free, at: null });
  else if (data.promise !== undefined) change(`/api/jobs/${job}/promise`, { day: data.promise || null });
  else if (data.anew !== undefined) change("/api/today/anew", {});
});

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.dataset.pin !== undefined) {
    event.preventDefault();
    form.classList.remove("typed");
    change(`/api/jobs/${job}/pins`, { operation: form.dataset.pin, at: `${form.elements.at.value}:00`.slice(0, 19) }, form);
  } else if (form.dataset.promiseForm !== undefined) {
    event.preventDefault();
    form.classList.remove("typed");
    change(`/api/jobs/${job}/promise`, { day: form.elements.day.value }, form);
  }
});

document.addEventListener("input", (event) => event.target.closest("form[data-pin], form[data-promise-form]")?.classList.add("typed"));
