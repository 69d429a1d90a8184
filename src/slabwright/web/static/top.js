// The top: a feature is picked in the plan or the list, moved by typed distance or by nudges, and answered at once.

import { Refused, Unclear, ask, changes, edit, editForm, job, keep, keeping, later, revision, say, show, stated, wrong } from "./bench.js";

const holder = document.querySelector("[data-plan]");
const place = document.getElementById("feature");
const phone = matchMedia("(max-width: 48rem)");
let side = holder?.querySelector("svg")?.dataset.side || "underside";
let form = null;
let at = null; // of the chosen feature: along, across [mm], as it was answered last
let asking = 0;
let timer = 0;
let mending = 0;

const about = () => place?.querySelector("[data-feature]");
const chosen = () => about()?.dataset.name || "";

/** What the form says otherwise, by key, as an edit takes it. */
function values() {
  const found = {};
  if (!form) return found;
  for (const [name, value] of Object.entries(changes(form))) found[name] = stated(form.elements[name], value);
  return found;
}

/** Put figures that the server worked out into the form. */
function fill(filled) {
  for (const [key, value] of Object.entries(filled)) {
    if (Array.isArray(value)) {
      value.forEach((corner, i) => corner.forEach((figure, k) => put(`${key}[${i}][${k}]`, figure)));
    } else {
      put(key, value);
    }
  }
  form.dispatchEvent(new Event("input"));
  clearTimeout(timer); // it is answered already
}

function put(key, value) {
  let field = form.elements[key];
  if (!field) { // what goes with it
    field = document.createElement("input");
    Object.assign(field, { type: "text", name: key, hidden: true });
    field.dataset.kind = "length";
    form.append(field);
  }
  field.value = String(value);
}

let underway = 0; // moves that the server has not answered yet

/** Ask what would come of what is typed, and show it; only the newest answer counts. */
async function attempt(more = {}) {
  if (!holder) return;
  const number = ++asking;
  const moves = Boolean(more.shift || more.hold || more.nearest);
  if (moves) clearTimeout(timer); // what was typed goes with the move
  underway += moves;
  clearTimeout(mending);
  const box = place.querySelector("[data-answer]");
  box?.setAttribute("aria-busy", "true");
  const sent = { revision: revision(), values: values(), chosen: chosen(), side, narrow: phone.matches, ...more };
  try {
    const came = await ask(`/api/jobs/${job}/top/try`, { method: "POST", json: sent });
    if (number !== asking) return;
    draw(came.picture);
    if (form) {
      wrong(form, "");
      at = came.place;
      if (Object.keys(came.filled).length) fill(came.filled);
      tell(came, Boolean(more.remedies));
    }
    if (came.clashes && form && !more.remedies) mending = setTimeout(() => attempt({ remedies: true }), 500);
  } catch (error) {
    if (number !== asking) return;
    if (error instanceof Refused && form) wrong(form, error.message);
    else if (error instanceof Refused) say(error.message);
    else say("The link is down: clearances cannot be told. What you type is kept.");
  } finally {
    underway -= moves;
    if (number === asking) box?.removeAttribute("aria-busy");
  }
}

/** Ask again after a moment; but not over a move whose answer has still to be filled in. */
function soon() {
  clearTimeout(timer);
  timer = setTimeout(() => (underway ? soon() : attempt()), 80);
}

function draw(picture) {
  const inside = holder.contains(document.activeElement);
  holder.innerHTML = picture;
  if (inside) holder.querySelector("[role=listbox]")?.focus({ preventScroll: true });
}

function voice(kind, word) {
  const mark = document.createElement("span");
  mark.className = `voice ${kind}`;
  mark.textContent = word;
  return mark;
}

function tell(came, mended) {
  const box = place.querySelector("[data-answer]");
  const verdict = box.querySelector("[data-verdict]");
  const said = came.clashes === 0 ? "Every distance holds." : came.clashes === 1 ? "1 distance does not hold." : `${came.clashes} distances do not hold.`;
  if (!verdict.textContent.endsWith(said)) verdict.replaceChildren(came.clashes ? voice("stop", "Stop") : voice("go", "Go"), ` ${said}`);
  box.querySelector("[data-season]").textContent = came.season;
  if (!mended) box.querySelector("[data-said]").textContent = came.said;
  box.querySelector("[data-clearances]").replaceChildren(...came.clearances.map((one) => {
    const row = document.createElement("li");
    row.className = one.holds ? "holds" : "broken";
    const figure = document.createElement("strong");
    figure.textContent = one.words;
    row.append(one.holds ? voice("go", "Go") : voice("stop", "Stop"), " ", figure,
      ` ${one.first}${one.second ? ` – ${one.second}` : ""}: ${one.rule}, at least ${one.asked}`);
    return row;
  }));
  const mends = box.querySelector("[data-mends]");
  if (!came.clashes) mends.replaceChildren();
  if (!mended) return;
  mends.replaceChildren(...came.problems.map((one) => {
    const line = document.createElement("p");
    line.className = "remedy";
    line.textContent = `What mends it: ${one.remedy}`;
    return line;
  }));
}

// One feature's form

function wire() {
  form = place?.querySelector("form[data-edit]") || null;
  const box = about();
  at = box?.dataset.place ? box.dataset.place.split(",").map(Number) : null;
  if (!form) return;
  form.addEventListener("input", soon);
  form.addEventListener("reset", soon);
  for (const name of ["along_from", "across_from"]) {
    const choice = form.querySelector(`[data-name=${name}]`);
    choice?.addEventListener("input", (event) => {
      if (!at) return;
      event.stopPropagation();
      clearTimeout(timer);
      attempt({ hold: at }).then(() => form.dispatchEvent(new Event("input")));
    });
  }
  for (const one of form.querySelectorAll("[data-nudge]")) {
    const [along, across] = one.dataset.nudge.split(",").map(Number);
    one.addEventListener("click", () => nudge(along, across));
  }
  form.querySelector("[data-free]")?.addEventListener("click", () => attempt({ nearest: true }));
  for (const one of form.querySelectorAll("[data-corner]")) one.addEventListener("click", () => corner(one));
  arrows();
  if (Object.keys(changes(form)).length) attempt();
}

function arrows() {
  const far = place?.querySelector("[data-far]");
  if (!far) return;
  far.textContent = side === "show" ? "↑" : "↓";
  place.querySelector("[data-near]").textContent = side === "show" ? "↓" : "↑";
}

let shift = null; // what is still to be moved; nudges that come quicker than answers add up
let moving = false;

async function nudge(along, across) {
  const step = Number(form?.querySelector("[data-step]:checked")?.value || 0);
  if (!step) return;
  shift = { along: (shift?.along || 0) + along * step, across: (shift?.across || 0) + across * step };
  if (moving) return;
  moving = true;
  try {
    while (shift) {
      const next = shift;
      shift = null;
      await attempt({ shift: next });
    }
  } finally {
    moving = false;
  }
}
document.addEventListener("change", (event) => { // the steps have no name, so that they are not saved: one at a time
  if (!event.target.matches?.("[data-step]")) return;
  for (const one of form.querySelectorAll("[data-step]")) one.checked = one === event.target;
});

/** Add or remove a corner of a channel's path: saved at once. */
async function corner(button) {
  const number = about().dataset.feature;
  const key = `top.features[${number}].path`;
  const fields = [...form.elements].filter((one) => one.name.startsWith(`${key}[`));
  const path = [];
  for (let i = 0; i < fields.length; i += 2) path.push([stated(fields[i], fields[i].value), stated(fields[i + 1], fields[i + 1].value)]);
  const index = Number(button.dataset.at);
  if (button.dataset.corner === "remove") path.splice(index, 1);
  else {
    const next = path[index + 1] || path[index];
    const half = (a, b) => (typeof a === "number" && typeof b === "number" ? (a + b) / 2 : a);
    path.splice(index + 1, 0, [half(path[index][0], next[0]), half(path[index][1], next[1])]);
  }
  await save({ [key]: path }, `${chosen()}: a corner ${button.dataset.corner === "remove" ? "removed" : "added"}`);
}

async function save(what, why, then = null) {
  try {
    await edit(what, { why, reload: false });
    if (then) location.search = then;
    else location.reload();
  } catch (error) {
    say(error instanceof Refused ? error.message : "The link is down; nothing was changed.", 10);
  }
}

// Picking

let picking = 0;

async function pick(name, number, face) {
  if (!place || name === chosen()) return;
  const mine = ++picking;
  const answer = await fetch(`/jobs/${job}/top/feature/${number}`).catch(() => null);
  const piece = answer?.ok ? await answer.text() : "";
  if (mine !== picking) return;
  if (!piece) return say("The link is down: this feature cannot be shown.");
  place.innerHTML = piece;
  shift = null;
  for (const one of document.querySelectorAll(".features [data-pick]")) {
    if (one.dataset.pick === name) one.setAttribute("aria-current", "true");
    else one.removeAttribute("aria-current");
  }
  history.replaceState(null, "", `?feature=${number}`);
  if (face && !holder.querySelector(`.seen[data-number="${number}"]`)) turn(face, false);
  const own = place.querySelector("form[data-edit]");
  if (own) editForm(own);
  wire();
  attempt();
}

function turn(to, answered = true) {
  side = to;
  for (const one of document.querySelectorAll("[data-side]:is(button)")) one.setAttribute("aria-pressed", String(one.dataset.side === to));
  arrows();
  if (answered) attempt();
}

for (const one of document.querySelectorAll(".features [data-pick]")) {
  one.addEventListener("click", (event) => {
    event.preventDefault();
    pick(one.dataset.pick, Number(one.dataset.number), one.dataset.face);
  });
}
for (const one of document.querySelectorAll("button[data-side]")) one.addEventListener("click", () => turn(one.dataset.side));

/** A finger takes the feature that lies nearest; what is right under it goes first. */
holder?.addEventListener("click", (event) => {
  const direct = event.target.closest(".seen");
  if (direct) return pick(direct.dataset.pick, Number(direct.dataset.number));
  const reach = 30;
  let best = null;
  for (const one of holder.querySelectorAll(".seen")) {
    const box = one.querySelector("path").getBoundingClientRect();
    const dx = Math.max(box.left - event.clientX, 0, event.clientX - box.right);
    const dy = Math.max(box.top - event.clientY, 0, event.clientY - box.bottom);
    const off = Math.hypot(dx, dy);
    if (off < reach && (!best || off < best.off)) best = { off, one };
  }
  if (best) pick(best.one.dataset.pick, Number(best.one.dataset.number));
});

const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
holder?.addEventListener("keydown", (event) => {
  const way = WAYS[event.key];
  if (!way || event.altKey || event.ctrlKey || event.metaKey) return;
  event.preventDefault();
  if (event.shiftKey) return nudge(way[0], (side === "show" ? -1 : 1) * way[1]);
  const all = [...holder.querySelectorAll(".seen")];
  const here = all.find((one) => one.dataset.pick === chosen());
  if (!here) return all[0] && pick(all[0].dataset.pick, Number(all[0].dataset.number));
  const [x, y] = [Number(here.dataset.x), Number(here.dataset.y)];
  let best = null;
  for (const one of all) {
    const [dx, dy] = [Number(one.dataset.x) - x, Number(one.dataset.y) - y];
    const ahead = dx * way[0] + dy * way[1];
    const aside = Math.abs(dx * way[1]) + Math.abs(dy * way[0]);
    if (ahead <= 1e-6 || one === here) continue;
    const far = ahead + 2 * aside;
    if (!best || far < best.far) best = { far, one };
  }
  if (best) pick(best.one.dataset.pick, Number(best.one.dataset.number));
});

// New features and places that are kept clear

async function add(what) {
  try {
    const came = await ask(`/api/jobs/${job}/top/new`, { method: "POST", json: { revision: revision(), ...what } });
    await save(came.values, `${came.name} added`, `?feature=${came.number}`);
  } catch (error) {
    say(error instanceof Refused ? error.message : "The link is down; nothing was changed.", 10);
  }
}
document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-again]");
  if (button) add({ like: button.dataset.again });
});
document.querySelector("[data-new-feature]")?.addEventListener("submit", (event) => {
  event.preventDefault();
  add({ kind: event.target.elements.kind.value });
});
document.querySelector("[data-new-kept]")?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const own = event.target;
  const [x0, x1, y0, y1] = ["x0", "x1", "y0", "y1"].map((name) => stated(own.elements[name], own.elements[name].value));
  const table = { name: own.elements.name.value.trim(), what: own.elements.what.value, outline: [[x0, y0], [x1, y0], [x1, y1], [x0, y1]] };
  wrong(own, "");
  const send = async () => {
    try {
      await edit({ [`top.keep_clear[${own.dataset.number}]`]: table }, { why: `${table.name} kept clear` });
    } catch (error) {
      if (error instanceof Refused) wrong(own, error.message);
      else later(send);
    }
  };
  send();
});

/** A plate as it was made: all of it is stated together, so that a hole that was not measured is not half there. */
function asMade(own) {
  const table = { plate: own.dataset.plate, way: own.elements.way.value };
  const filled = (field) => field.value.trim() !== "";
  for (const field of own.querySelectorAll("input[data-kind]:not([data-part])")) if (filled(field)) table[field.name] = stated(field, field.value);
  if (!own.elements.painted.checked) table.painted = false;
  const holes = [];
  for (const row of own.querySelectorAll("[data-hole]")) {
    const fields = [...row.querySelectorAll("[data-part]")];
    if (!fields.some(filled)) continue;
    if (!fields.slice(0, 2).every(filled)) throw new Unclear(`${row.dataset.hole}: its place wants both figures, along and across; or leave all of them empty.`);
    holes.push({ insert: row.dataset.hole, ...Object.fromEntries(fields.filter(filled).map((field) => [field.dataset.part, stated(field, field.value)])) });
  }
  if (holes.length) table.holes = holes;
  return table;
}
for (const own of document.querySelectorAll("form[data-plate]")) {
  if (keeping(own)) { own.closest("details").open = true; say("What was typed before and not saved is here again."); }
  const send = async () => {
    wrong(own, "");
    try {
      const values = { [`top.plates_as_made[${own.dataset.number}]`]: asMade(own) };
      await edit(values, { why: `${own.dataset.plate} as made`, reload: false });
      keep(own, {});
      show();
    } catch (error) {
      if (error instanceof Refused || error instanceof Unclear) wrong(own, error.message);
      else later(send);
    }
  };
  own.addEventListener("submit", (event) => { event.preventDefault(); send(); });
}

phone.addEventListener("change", () => attempt());
wire();
if (phone.matches) attempt();
