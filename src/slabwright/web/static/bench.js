// What every page's module uses: asking the server, saving edits, keeping what was typed until the server has it.

export const body = document.body;
export const job = Number(body.dataset.job);
const token = document.querySelector('meta[name="token"]').content;

export class Refused extends Error {
  constructor(status, answer) {
    super(answer.error || `the server answers ${status}`);
    this.status = status;
    this.answer = answer;
  }
}

export function revision() {
  return Number(body.dataset.revision);
}

/** Ask the server; throws Refused with its one line, or TypeError where the link is down. */
export async function ask(address, { method = "GET", json, form } = {}) {
  const headers = { accept: "application/json" };
  if (method !== "GET") headers["x-slabwright-token"] = token;
  if (json !== undefined) headers["content-type"] = "application/json";
  const answer = await fetch(address, { method, headers, body: json !== undefined ? JSON.stringify(json) : form });
  const text = await answer.text();
  let read = {};
  try { read = text ? JSON.parse(text) : {}; } catch { read = {}; }
  if (!answer.ok) throw new Refused(answer.status, read);
  return read;
}

export function say(words, seconds = 6) {
  const place = document.getElementById("said");
  place.textContent = words;
  clearTimeout(say.timer);
  say.timer = setTimeout(() => { place.textContent = ""; }, seconds * 1000);
}

export function wrong(form, words) {
  const place = form.querySelector(".wrong");
  if (!place) return say(words);
  place.textContent = words;
  place.hidden = !words;
  if (words) place.scrollIntoView({ block: "nearest" });
}

/** Save keys of the job (or shop) file; the page is shown anew with what moved. Resolves to what the server answers. */
export async function edit(values, { why = "", file = "job", reload = true } = {}) {
  body.dataset.saving = "yes";
  try {
    const edited = await ask(`/api/jobs/${job}/edits`, { method: "POST", json: { based_on: revision(), values, why, file } });
    body.dataset.revision = edited.revision;
    if (reload) show();
    return edited;
  } finally {
    delete body.dataset.saving;
  }
}

/** Show the page as it is now. */
export function show() {
  location.reload();
}

// What was typed is kept here until the server has it.

const KEPT = "slabwright-typed:";

function keptKey(form) {
  return `${KEPT}${location.pathname.startsWith("/jobs/") ? job : 0}:${form.dataset.keep}`;
}

export function kept(form) {
  try { return JSON.parse(localStorage.getItem(keptKey(form)) || "{}"); } catch { return {}; }
}

export function keep(form, values) {
  try {
    if (Object.keys(values).length) localStorage.setItem(keptKey(form), JSON.stringify(values));
    else localStorage.removeItem(keptKey(form));
  } catch { say("This browser keeps nothing: what you type is lost if the page is left."); }
}

function unchanged(field) {
  if (field.type === "radio" || field.type === "checkbox") return field.checked === field.defaultChecked;
  if (field.tagName === "SELECT") return [...field.options].every((o) => o.selected === o.defaultSelected);
  return field.value === field.defaultValue;
}

/** What was changed in a form, by the name of its fields. */
export function changes(form) {
  const found = {};
  for (const field of form.elements) {
    if (!field.name || field.type === "file" || unchanged(field)) continue;
    if (field.type === "radio" && !field.checked) continue;
    found[field.name] = field.type === "checkbox" ? field.checked : field.value;
  }
  return found;
}

/** The value of a field as the job file takes it: plain numbers as numbers, nothing as null. */
export function stated(field, value) {
  if (typeof value !== "string") return value;
  const typed = value.trim();
  if (typed === "") return null;
  const kind = field?.dataset?.kind || "words";
  if (kind === "yes") return typed === "yes";
  if (kind === "list") return listed(typed, field.dataset.of);
  return (kind === "length" || kind === "number") && /^-?[0-9]+(\.[0-9]+)?$/.test(typed) ? Number(typed) : typed;
}

/** A list as the job file takes it: words a line each, figures between commas, points as x, y between semicolons. */
function listed(typed, of) {
  const parts = typed.split(of === "words" ? "\n" : of === "point" ? ";" : ",").map((part) => part.trim()).filter(Boolean);
  if (of === "words") return parts;
  if (of === "point") return parts.map((part) => listed(part, "length"));
  return parts.map((part) => (/^-?[0-9]+(\.[0-9]+)?$/.test(part) ? Number(part) : part));
}

/** Let a form keep what is typed, show what is changed, and bring back what was not sent. */
export function keeping(form) {
  const before = kept(form);
  for (const [name, value] of Object.entries(before)) {
    const fields = form.elements[name];
    if (!fields) continue;
    if (fields instanceof RadioNodeList) for (const one of fields) one.checked = one.value === value;
    else if (fields.type === "checkbox") fields.checked = value;
    else fields.value = value;
  }
  const marked = () => { for (const field of form.elements) if (field.name) field.classList.toggle("changed", !unchanged(field)); };
  form.addEventListener("input", () => { keep(form, changes(form)); marked(); });
  form.addEventListener("reset", () => { keep(form, {}); wrong(form, ""); setTimeout(marked); });
  marked();
  return Object.keys(before).length > 0;
}

const waiting = new Set();

/** Tell that the link is down, and try again when it is back. */
export function later(again) {
  waiting.add(again);
  const bar = document.getElementById("link");
  bar.querySelector("[data-words]").textContent = "The link is down. What you typed is kept here and sent when it is back.";
  bar.hidden = false;
}

async function retry() {
  for (const again of [...waiting]) {
    waiting.delete(again);
    await again();
  }
  document.getElementById("link").hidden = waiting.size === 0;
}
addEventListener("online", retry);
setInterval(() => { if (waiting.size) retry(); }, 5000);

/** A form whose fields are named by keys of the job file: saves what was changed. */
export function editForm(form) {
  if (keeping(form)) say("What was typed before and not saved is here again.");
  const send = async (onNewest = false) => {
    const values = {};
    for (const [name, value] of Object.entries(changes(form))) {
      const field = form.elements[name];
      values[name] = stated(field instanceof RadioNodeList ? field[0] : field, value);
    }
    if (!Object.keys(values).length) return say("Nothing was changed.");
    wrong(form, "");
    try {
      if (onNewest) body.dataset.revision = onNewest;
      await edit(values, { why: form.dataset.whyChanged || "", file: form.dataset.file || "job", reload: false });
      keep(form, {});
      show();
    } catch (error) {
      if (error instanceof Refused && error.status === 409) offerOnTop(form, error, () => send(error.answer.newest));
      else if (error instanceof Refused) wrong(form, error.message);
      else later(() => send(onNewest));
    }
  };
  form.addEventListener("submit", (event) => { event.preventDefault(); send(); });
}

function offerOnTop(form, error, again) {
  wrong(form, `Another device was quicker: revision ${error.answer.newest} is there. What you typed is kept.`);
  const row = document.createElement("p");
  row.className = "row";
  const mine = document.createElement("button");
  mine.type = "button";
  mine.className = "main";
  mine.textContent = "Put mine on top";
  mine.addEventListener("click", async () => {
    row.remove();
    if (error.answer.draft) {
      try { await ask(`/api/jobs/${job}/drafts/${error.answer.draft}/settle`, { method: "POST" }); } catch { /* it stays listed on history */ }
    }
    again();
  });
  const theirs = document.createElement("button");
  theirs.type = "button";
  theirs.textContent = "Look at theirs first";
  theirs.addEventListener("click", show);
  row.append(mine, theirs);
  form.querySelector(".wrong").after(row);
}
