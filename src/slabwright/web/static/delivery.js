// The delivery: passages typed, added, moved and removed, each try answered at once; alone or not; ticks of the assembly.

import { Refused, answered, ask, awaited, body, edit, job, later, revision, say, show, stated, wrong } from "./bench.js";
import { takenInSight, ticks } from "./ticks.js";

const form = document.querySelector("[data-passages]");
const list = form?.querySelector(".passages");
const way = document.querySelector("[data-way]");
const KEPT = `slabwright-typed:${job}:passages`;
const VOICES = { go: "Go", care: "Care", stop: "Stop", caution: "Care", note: "Note" };
let busy = false;
let again = false;
let timer = 0;
let helping = 0;

function voice(kind, word = VOICES[kind]) {
  const mark = document.createElement("span");
  mark.className = `voice ${kind === "caution" ? "care" : kind}`;
  mark.textContent = word;
  return mark;
}

// What is typed

/** Sizes of a passage that are not typed yet. */
function missing(one) {
  return [...one.querySelectorAll("[data-needed]")].filter((field) => !field.value.trim());
}

/** What is still to be typed, by passage: "Passage 2 (Door): Clear width, Clear height". */
function open() {
  return [...list.children].flatMap((one, number) => {
    const fields = missing(one);
    return fields.length ? [{ one, fields, words: `passage ${number + 1} (${one.dataset.words}): ${asked(fields)}` }] : [];
  });
}

function asked(fields) {
  return fields.map((field) => field.dataset.needed.replace(/^./, (letter) => letter.toLowerCase())).join(", ");
}

function typed(cards = list.children) {
  const steps = [...cards].map((one) => {
    const step = { kind: one.dataset.passage };
    for (const field of one.querySelectorAll("[data-size]")) {
      const value = field.tagName === "SELECT" ? Number(field.value) : stated(field, field.value);
      if (value !== null && !(field.tagName === "SELECT" && value === 0)) step[field.dataset.size] = value;
    }
    return step;
  });
  const general = {};
  for (const field of form.querySelectorAll("[data-general]")) general[field.dataset.general] = field.tagName === "SELECT" ? field.value : stated(field, field.value);
  return { steps, general };
}

const first = form ? typed() : null;
const before = list?.innerHTML;

function values(cards = list.children) {
  const { steps, general } = typed(cards);
  const found = {};
  for (const [name, value] of Object.entries(general)) if (value !== first.general[name]) found[`delivery.${name}`] = value;
  if (JSON.stringify(steps) === JSON.stringify(first.steps)) return found;
  if (steps.length) found["delivery.steps"] = steps;
  // A way without passages and without anything else leaves no table behind.
  else if (general.hand_room === null && general.padding === null && general.apart === "if needed") return { delivery: null };
  else found["delivery.steps"] = null;
  return found;
}

function keep() {
  try {
    if (Object.keys(values()).length) localStorage.setItem(KEPT, JSON.stringify(typed()));
    else localStorage.removeItem(KEPT);
  } catch { say("This browser keeps nothing: what you type is lost if the page is left."); }
}

function made(kind, step = null) {
  const one = form.querySelector(`template[data-kind-of=${kind}]`).content.firstElementChild.cloneNode(true);
  if (step) for (const field of one.querySelectorAll("[data-size]")) field.value = step[field.dataset.size] ?? (field.tagName === "SELECT" ? "0" : "");
  return one;
}

function counted() {
  [...list.children].forEach((one, number) => { one.querySelector("[data-number]").textContent = number + 1; });
}

function restore() {
  let told = null;
  try { told = JSON.parse(localStorage.getItem(KEPT) || "null"); } catch { told = null; }
  if (!told) return;
  list.replaceChildren(...told.steps.map((step) => made(step.kind, step)));
  for (const field of form.querySelectorAll("[data-general]")) field.value = told.general[field.dataset.general] ?? "";
  counted();
  say("What was typed before and not saved is here again.");
}

// What comes of it

/** One try at a time: what is typed meanwhile is tried next. What would help is asked once nothing more is typed. */
async function attempt(remedies = false) {
  if (busy) { again = true; return; }
  busy = true;
  again = false;
  clearTimeout(helping);
  const box = form.querySelector("[data-answer]");
  box.setAttribute("aria-busy", "true");
  try {
    const cards = [...list.children].filter((one) => !missing(one).length);
    const sent = values(cards);
    const came = await ask(`/api/jobs/${job}/delivery/try`, { method: "POST", json: { revision: revision(), values: sent, remedies } });
    wrong(form, "");
    if (!again) tell(came.way, cards);
    box.replaceChildren(...(Object.keys(sent).length ? came.problems.map((one) => {
      const line = document.createElement("p");
      line.append(voice(one.severity), ` ${one.message} ${one.remedy}`);
      return line;
    }) : []));
    if (!remedies && !again && came.way.passages.some((one) => one.voice !== "go")) helping = setTimeout(() => attempt(true), 700);
  } catch (error) {
    box.replaceChildren();
    if (again) return;
    awaited(places(), "Not worked out");
    if (error instanceof Refused) refused(error.message, error.answer.key);
    else say("The link is down: the way cannot be tried. What you type is kept.");
  } finally {
    busy = false;
    box.removeAttribute("aria-busy");
    if (again) attempt();
  }
}

/** What cannot be used has no answer: the one before it is not left standing. */
function refused(words, key = "") {
  wrong(form, words);
  const [, number, name] = /^delivery\.steps\[(\d+)\]\.(\w+)$/.exec(key || "") || [];
  const field = number === undefined ? null : [...list.children].filter((one) => !missing(one).length)[number]?.querySelector(`[data-size=${name}]`);
  if (field) {
    field.setAttribute("aria-invalid", "true");
    field.closest(".sizes").after(form.querySelector(".wrong"));
  }
  way.querySelector("[data-voice]").replaceChildren();
  way.querySelector("[data-great]").textContent = "Not worked out";
  for (const part of ["carried", "said"]) way.querySelector(`[data-${part}]`).textContent = "";
  for (const line of list.querySelectorAll("[data-left]")) line.hidden = true;
  for (const one of list.children) one.classList.remove("go", "care", "stop");
  document.querySelector("[data-apart]").hidden = true;
}

/** What an answer is shown in. */
function places() {
  return [way, document.querySelector("[data-apart]"), ...list.querySelectorAll("[data-left]")];
}

function tell(came, cards) {
  answered(places());
  way.hidden = false;
  document.querySelector("[data-none]")?.remove();
  way.querySelector("[data-voice]").replaceChildren(...(came.margin === null ? [] : [voice(came.voice)]));
  way.querySelector("[data-great]").textContent = came.great;
  way.querySelector("[data-carried]").textContent = came.margin === null ? "" : came.carried === "whole" ? "Nothing comes off: it goes whole." : `Must come off: ${came.carried}.`;
  way.querySelector("[data-said]").textContent = came.said;
  way.querySelector("[data-routes]").replaceChildren(...came.passages.flatMap((one) => one.drawings.map((drawn) => {
    const item = document.createElement("li");
    const picture = document.createElement("img");
    picture.className = "paper";
    picture.width = picture.height = 368;
    picture.alt = drawn.words;
    picture.src = `data:image/svg+xml,${encodeURIComponent(drawn.svg)}`;
    item.append(picture);
    return item;
  })));
  came.passages.forEach((one, number) => left(cards[number], one));
  options(came.options);
  const still = open();
  const button = way.querySelector("[data-great]").closest("button");
  if (button) button.disabled = Object.keys(values()).length > 0; // why: of what is saved
  if (!still.length) return;
  // Without all passages nobody knows what is left.
  way.querySelector("[data-voice]").replaceChildren();
  way.querySelector("[data-great]").textContent = "Not known yet";
  way.querySelector("[data-carried]").textContent = "";
  way.querySelector("[data-said]").textContent = `Still to measure: ${still.map((one) => one.words).join("; ")}.`;
  document.querySelector("[data-apart]").hidden = true;
  for (const { one, fields } of still) {
    one.classList.remove("go", "care", "stop");
    const line = one.querySelector("[data-left]");
    line.replaceChildren(voice("note", "To measure"), ` ${asked(fields)}`);
    line.hidden = false;
  }
}

function left(place, one) {
  if (!place) return;
  place.classList.remove("go", "care", "stop");
  place.classList.add(one.voice);
  const line = place.querySelector("[data-left]");
  const more = document.createElement("span");
  more.className = "soft";
  more.textContent = one.helps.length ? `${one.goes}. What would help: ${one.helps.join("; or ")}.` : one.goes;
  line.replaceChildren(voice(one.voice), ` ${one.great} on each side`, more);
  line.hidden = false;
}

function options(found) {
  const panel = document.querySelector("[data-apart]");
  panel.hidden = !found.length;
  const saved = !Object.keys(values()).length;
  panel.querySelector("[data-options]").replaceChildren(...found.map((one) => {
    const card = document.createElement("li");
    card.className = `option${one.taken ? " taken" : ""}`;
    const head = document.createElement("h3");
    head.textContent = one.title;
    const marks = document.createElement("p");
    if (one.taken) marks.append(voice("chosen", "Taken"));
    marks.append(voice(one.voice));
    const costs = document.createElement("dl");
    for (const [words, value] of [["on each side", one.great], ["tightest", one.tightest], ["heaviest", one.heaviest]]) {
      const row = document.createElement("div");
      const name = document.createElement("dt");
      const figure = document.createElement("dd");
      name.textContent = words;
      figure.textContent = value;
      row.append(name, figure);
      costs.append(row);
    }
    card.append(head, marks, costs);
    if (one.stops.length) {
      const note = document.createElement("p");
      note.className = "note";
      note.textContent = `Does not go through: ${one.stops.join(", ")}.`;
      card.append(note);
    }
    if (Object.keys(one.values).length) {
      const button = document.createElement("button");
      button.type = "button";
      const more = document.createElement("span");
      more.className = "sr";
      more.textContent = `: ${one.title}`;
      button.append(one.take, more);
      // What is typed is saved with it only by Save: here it is put into the form and tried.
      if (saved) {
        button.dataset.apply = JSON.stringify(one.values);
        button.dataset.whyChanged = `carried: ${one.title}`;
      } else button.addEventListener("click", () => { form.querySelector("[data-general=apart]").value = one.values["delivery.apart"]; changed(0); });
      card.append(button);
    }
    return card;
  }));
}

function changed(wait = 300) {
  keep();
  awaited(places());
  clearTimeout(timer);
  timer = setTimeout(() => attempt(), wait);
}

if (form) {
  restore();
  form.addEventListener("input", () => changed());
  form.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    const one = button.closest(".passage");
    if (button.dataset.add) {
      list.append(made(button.dataset.add));
      list.lastElementChild.querySelector("[data-kind=length]").focus();
    } else if (button.matches("[data-remove]")) {
      const nearest = one.nextElementSibling || one.previousElementSibling;
      one.remove();
      (nearest?.querySelector("[data-remove]") || form.querySelector("[data-add]")).focus();
    } else if (button.dataset.move) {
      const up = Number(button.dataset.move) < 0;
      const other = up ? one.previousElementSibling : one.nextElementSibling;
      if (!other) return say(up ? "It is the first already." : "It is the last already.");
      if (up) other.before(one); else other.after(one);
      button.focus();
      say(`Moved: it is number ${[...list.children].indexOf(one) + 1} now.`);
    } else return;
    counted();
    changed(0);
  });
  form.addEventListener("reset", (event) => {
    event.preventDefault();
    list.innerHTML = before;
    for (const field of form.querySelectorAll("[data-general]")) field.value = first.general[field.dataset.general] ?? "";
    wrong(form, "");
    changed(0);
  });
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const send = async (onNewest = 0) => {
      const wanted = values();
      if (!Object.keys(wanted).length) return say("Nothing was changed.");
      const still = open();
      if (still.length) {
        wrong(form, `Still to measure before it can be saved: ${still.map((one) => one.words).join("; ")}. Or remove the passage.`);
        return still[0].fields[0].focus();
      }
      wrong(form, "");
      try {
        if (onNewest) body.dataset.revision = onNewest;
        await edit(wanted, { why: "the way in changed", reload: false });
        localStorage.removeItem(KEPT);
        show();
      } catch (error) {
        if (error instanceof Refused && error.status === 409) {
          wrong(form, `Another device was quicker: revision ${error.answer.newest} is there. What you typed is kept; press Show above, then save again.`);
        } else if (error instanceof Refused) wrong(form, error.message);
        else later(() => send(onNewest));
      }
    };
    send();
  });
  if (list.children.length) attempt();
}

// Alone?

const lifts = document.querySelector("[data-lifts]");
const alone = document.querySelector("[data-alone]");
if (alone) {
  const key = `slabwright-alone:${job}`;
  const shown = (value) => { if (value) lifts.dataset.who = value === "yes" ? "alone" : "more"; };
  let told = null;
  try { told = localStorage.getItem(key); } catch { told = null; }
  for (const one of alone.querySelectorAll("input")) {
    one.checked = one.value === told;
    one.addEventListener("change", () => {
      try { localStorage.setItem(key, one.value); } catch { /* it is asked again */ }
      shown(one.value);
    });
  }
  shown(told);
}

ticks(document.querySelectorAll("[data-tick]"), "put together");
takenInSight();
