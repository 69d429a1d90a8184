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

const homes = new WeakMap();

/** Say what is wrong in a form: below the field that it is about, or else above its buttons. */
export function wrong(form, words, key = "") {
  const place = form.querySelector(".wrong");
  if (!place) return say(words);
  if (!homes.has(place)) homes.set(place, place.nextElementSibling);
  for (const one of form.querySelectorAll("[aria-invalid]")) one.removeAttribute("aria-invalid");
  const found = words && key ? form.elements[key] : null;
  const field = found instanceof RadioNodeList ? found[0] : found;
  if (field) {
    field.setAttribute("aria-invalid", "true");
    field.closest("p, fieldset").after(place);
  } else if (homes.get(place)) homes.get(place).before(place);
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
    toTell(edited.revision);
    if (reload) show();
    return edited;
  } finally {
    delete body.dataset.saving;
  }
}

const SAVED = "slabwright-saved";

/** Remember what was saved and where on the page, so that the page which is shown anew can tell it there. */
function toTell(number) {
  const pressed = document.activeElement;
  const form = pressed?.closest("form[data-keep]");
  const section = pressed?.closest("main section[aria-labelledby]");
  const place = form ? `form[data-keep="${CSS.escape(form.dataset.keep)}"]` : section ? `[aria-labelledby="${CSS.escape(section.getAttribute("aria-labelledby"))}"]` : "";
  const top = (form || section)?.getBoundingClientRect().top ?? 0;
  try { sessionStorage.setItem(SAVED, JSON.stringify({ path: location.pathname, number, place, top, down: scrollY })); } catch { /* then it is not told */ }
}

/** Tell what was saved at the button that was pressed, with the page where it was. */
export function tellSaved() {
  let told = null;
  try {
    told = JSON.parse(sessionStorage.getItem(SAVED) || "null");
    sessionStorage.removeItem(SAVED);
  } catch { told = null; }
  history.scrollRestoration = "auto";
  if (!told || told.path !== location.pathname || told.number !== revision()) return;
  const place = told.place ? document.querySelector(told.place) : null;
  for (let folded = place?.closest("details"); folded; folded = folded.parentElement.closest("details")) folded.open = true;
  if (place) scrollBy(0, place.getBoundingClientRect().top - told.top);
  else scrollTo(0, told.down);
  say(`Saved: revision ${told.number}.`);
  const button = place?.matches("form") ? place.querySelector("button:not([type=button], [type=reset])") : null;
  if (!button) return;
  const words = document.createElement("span");
  words.className = "saved";
  const mark = document.createElement("span");
  mark.className = "voice go";
  mark.textContent = "Saved:";
  words.append(mark, `revision ${told.number}`);
  button.after(words);
  place.addEventListener("input", () => words.remove(), { once: true });
  button.focus({ preventScroll: true });
}

/** Show the page as it is now. */
export function show() {
  try { if (sessionStorage.getItem(SAVED)) history.scrollRestoration = "manual"; } catch { /* it begins at its head */ }
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

/** What was typed can be read in more than one way; says how to write it. */
export class Unclear extends Error {}

/** The value of a field as the job file takes it: plain numbers as numbers, nothing as null; throws Unclear. */
export function stated(field, value) {
  if (typeof value !== "string") return value;
  const typed = value.trim();
  if (typed === "") return null;
  const kind = field?.dataset?.kind || "words";
  if (kind === "yes") return typed === "yes";
  if (kind === "list") return listed(typed, field.dataset.of);
  return kind === "length" || kind === "number" ? figure(typed) : typed;
}

/** A plain number, with a point or a comma before its decimals; anything else, such as 1,200, is left to the server's question. */
function figure(typed) {
  const plain = /^-?[0-9]+([.,][0-9]+)?$/.test(typed) && !/^-?[1-9][0-9]{0,2},[0-9]{3}$/.test(typed);
  return plain ? Number(typed.replace(",", ".")) : typed;
}

/** A list as the job file takes it: words a line each, figures apart from each other, points as x, y between semicolons. */
function listed(typed, of) {
  const parted = (by, text = typed) => text.split(by).map((part) => part.trim()).filter(Boolean);
  if (of === "words") return parted("\n");
  if (of !== "point") return figures(typed).map(figure);
  return parted(/[;\n]/).map((point) => {
    const two = [/,\s+/, ",", /\s+/].map((by) => parted(by, point)).find((parts) => parts.length === 2);
    if (!two) throw new Unclear(`${point} is not one point: write x, y, and a semicolon before the next point.`);
    return two.map(figure);
  });
}

/** Figures of a list, parted by semicolons, lines, or commas with space behind; what could be read in two ways is asked about. */
function figures(typed) {
  const sure = /[;\n]/.test(typed); // then a comma can only be a decimal sign
  const parts = typed.split(sure ? /[;\n]|,\s+/ : /,\s+|,$/).map((part) => part.trim()).filter(Boolean);
  const inside = (part) => /[0-9],[0-9]/.test(part);
  const each = parts.length > 1 && parts.every(inside); // 11,2, 12,4
  return parts.flatMap((part) => {
    const tight = part.split(",");
    if (!inside(part) || tight.every((one) => one.includes("."))) return tight; // 11.2,12.4: here the point is the decimal sign
    if (tight.length === 2 && (sure || each)) return [part];
    const one = tight.length === 2 ? `${tight.join(".")} for one figure, or ` : "";
    throw new Unclear(`${part} can be read in more than one way: write ${one}${tight.join("; ")} for ${tight.length}.`);
  });
}

/** Let a form keep what is typed, show what is changed, and bring back what was not sent. */
export function keeping(form) {
  const before = kept(form);
  for (const [name, value] of Object.entries(before)) {
    const fields = form.elements.namedItem(name);
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

/** What is shown belongs to what was typed before: it stands back and says so until the answer to what is typed now is there. */
export function awaited(places, words = "Working") {
  for (const place of places) {
    place.classList.add("awaited");
    for (const mark of place.querySelectorAll(".voice")) {
      mark.className = "voice note";
      mark.textContent = words;
    }
  }
}

/** The answer is there. */
export function answered(places) {
  for (const place of places) place.classList.remove("awaited");
}

/** A form whose fields are named by keys of the job file: saves what was changed. */
export function editForm(form) {
  if (keeping(form)) say("What was typed before and not saved is here again.");
  const send = async (onNewest = false) => {
    const values = {};
    try {
      for (const [name, value] of Object.entries(changes(form))) {
        const field = form.elements.namedItem(name);
        values[name] = stated(field instanceof RadioNodeList ? field[0] : field, value);
      }
    } catch (error) {
      if (error instanceof Unclear) return wrong(form, error.message);
      throw error;
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
      else if (error instanceof Refused) wrong(form, error.message, error.answer.key);
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
