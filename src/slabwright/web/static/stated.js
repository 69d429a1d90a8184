// All that is stated: find a figure, add a table to a list, the same shop for other jobs.

import { Refused, Unclear, ask, edit, job, keep, keeping, later, say, show, stated, wrong } from "./bench.js";

// A place that is asked for by its name is opened, with all that it lies in.

function openAt(name) {
  const place = name && document.getElementById(decodeURIComponent(name));
  if (!place) return;
  for (let one = place; one; one = one.parentElement) if (one.tagName === "DETAILS") one.open = true;
  place.scrollIntoView({ block: "start" });
  place.querySelector("summary")?.focus({ preventScroll: true });
}
addEventListener("hashchange", () => openAt(location.hash.slice(1)));
openAt(location.hash.slice(1));

// What is open stays open when the page is shown anew.

const openKey = `slabwright-stated:${job}`;
addEventListener("pagehide", () => {
  const open = [...document.querySelectorAll(".stated details[open][id]")].map((one) => one.id);
  try { sessionStorage.setItem(openKey, JSON.stringify(open)); } catch { /* then they are closed */ }
});
try {
  for (const id of JSON.parse(sessionStorage.getItem(openKey) || "[]")) {
    const one = document.getElementById(id);
    if (one) one.open = true;
  }
} catch { /* nothing was kept */ }

// Find

const found = document.querySelector("[data-found]");
document.querySelector("[data-find-in]").addEventListener("input", (event) => {
  const words = event.target.value.toLowerCase().split(/\s+/).filter(Boolean);
  let count = 0;
  for (const question of document.querySelectorAll(".stated form[data-edit] .question")) {
    const near = question.closest("details")?.dataset.find || "";
    const text = `${question.textContent} ${near}`.toLowerCase();
    const hit = words.length > 0 && words.every((word) => text.includes(word));
    question.hidden = words.length > 0 && !hit;
    count += hit ? 1 : 0;
  }
  for (const table of [...document.querySelectorAll(".stated details")].reverse()) {
    const here = table.querySelector("form[data-edit] .question:not([hidden])") || words.every((word) => (table.dataset.find || "").includes(word));
    table.hidden = words.length > 0 && !here;
    if (words.length && table.classList.contains("stated-table")) table.open = Boolean(table.querySelector(":scope form[data-edit] .question:not([hidden])"));
  }
  found.textContent = words.length ? (count ? `${count} figures` : "Nothing is called so.") : "";
});

// Add a table to a list

for (const form of document.querySelectorAll("form[data-fresh]")) {
  keeping(form);
  const send = async () => {
    const table = form.dataset.kindOf ? { kind: form.dataset.kindOf } : {};
    try {
      for (const field of form.elements) {
        const value = field.name && field.value.trim() ? stated(field, field.value) : null;
        if (value !== null) table[field.name] = value;
      }
    } catch (error) {
      if (error instanceof Unclear) return wrong(form, error.message);
      throw error;
    }
    if (!Object.keys(table).length) return wrong(form, "Nothing is filled in yet.");
    wrong(form, "");
    try {
      await edit({ [form.dataset.fresh]: table }, { why: `${form.dataset.fresh} added`, file: form.dataset.file, reload: false });
      keep(form, {});
      show();
    } catch (error) {
      if (error instanceof Refused) wrong(form, error.status === 409 ? "Another device was quicker: show its change first, then add this; it is kept here." : error.message);
      else later(send);
    }
  };
  form.addEventListener("submit", (event) => { event.preventDefault(); send(); });
}

// The same shop for other jobs

const spread = document.querySelector("form[data-spread]");
spread?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const jobs = [...spread.querySelectorAll("input:checked")].map((one) => Number(one.value));
  if (!jobs.length) return wrong(spread, "Tick the jobs that are to take them.");
  wrong(spread, "");
  try {
    const answer = await ask(`/api/jobs/${job}/stated/shop`, { method: "POST", json: { jobs } });
    const refused = answer.taken.filter((one) => one.refused);
    spread.querySelector("[data-taken]").textContent = `${answer.taken.length - refused.length} took them.`;
    if (refused.length) wrong(spread, refused.map((one) => `${one.title}: ${one.refused}`).join("; "));
    for (const one of answer.taken) if (!one.refused) spread.querySelector(`input[value="${one.job}"]`).closest("li").textContent = `${one.title}: the same now`;
  } catch (error) {
    if (error instanceof Refused) wrong(spread, error.message);
    else say("The link is down; nothing was changed.", 10);
  }
});
