// Readings: one station at a time; each is kept on this device until the server has it on its disk.

import { Refused, ask, body, job, keeping, keep, later, revision, say, show, wrong } from "./bench.js";

const KEY = "slabwright-reading:";
const INCH = 25.4;
const place = document.querySelector("[data-reading]");

// What waits on this device: each entry under a key of its own, so that two windows do not lose each other's.

function waitingKeys() {
  const keys = [];
  for (let k = 0; k < localStorage.length; k += 1) {
    const key = localStorage.key(k);
    if (key.startsWith(`${KEY}${job}:`)) keys.push(key);
  }
  return keys;
}

function waitingEntries() {
  const found = [];
  for (const key of waitingKeys()) {
    try {
      const kept = JSON.parse(localStorage.getItem(key));
      if (kept?.entry?.id) found.push({ key, begun: key.split(":")[2], ...kept });
    } catch { /* not ours */ }
  }
  return found.sort((a, b) => a.when - b.when);
}

function randomId() {
  return [...crypto.getRandomValues(new Uint8Array(12))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

// Entries that the server did not take are shown, never thrown away by themselves.

function showStranded(entries, why) {
  const box = document.querySelector("[data-stranded]");
  if (!box) return;
  box.hidden = !entries.length;
  if (!entries.length) return;
  if (why) box.querySelector("[data-stranded-why]").textContent = why;
  box.querySelector("[data-stranded-list]").replaceChildren(...entries.map(({ entry, error }) => {
    const line = document.createElement("li");
    const what = entry.act === "take" ? entry.typed : entry.act;
    line.textContent = `Face ${entry.face}, row ${entry.row}, place ${entry.column}: ${what}${error ? ` (${error})` : ""}`;
    return line;
  }));
  box.querySelector("[data-forget]").onclick = () => {
    for (const { key } of entries) localStorage.removeItem(key);
    box.hidden = true;
  };
}

if (place) reading();
else beginning();

// Before any are begun

function beginning() {
  showStranded(waitingEntries(), "They were read for readings that are closed: they became a survey, or were put aside.");
  const form = document.querySelector("[data-begin]");
  if (!form) return;
  keeping(form);
  const count = () => {
    const places = Number(form.elements.along.value) * Number(form.elements.across.value);
    form.querySelector("[data-count]").textContent = places > 0 ? `${places} places on each face, ${2 * places} heights.` : "";
  };
  form.addEventListener("input", count);
  count();
  const begin = async () => {
    wrong(form, "");
    const given = Object.fromEntries(new FormData(form));
    given.along = Number(given.along);
    given.across = Number(given.across);
    try {
      await ask(`/api/jobs/${job}/readings/begin`, { method: "POST", json: given });
      keep(form, {});
      show();
    } catch (error) {
      if (error instanceof Refused) wrong(form, error.message);
      else later(begin);
    }
  };
  form.addEventListener("submit", (event) => { event.preventDefault(); begin(); });
}

// While they are taken

function reading() {
  const begun = JSON.parse(document.getElementById("readings-begun").textContent);
  const inch = place.dataset.units === "inch";
  const at = (selector) => place.querySelector(selector);
  const field = at("[data-typed]");
  const lineField = at("[data-line]");
  const keyOf = (one) => `${one.face}-${one.row}-${one.column}`;
  const taken = new Map(begun.taken.map((one) => [keyOf(one), { z: one.z, shown: one.shown }]));
  const edgesOnly = new Set(begun.edges_only);
  const stations = begun.stations;
  const settings = read(`slabwright-reading-set:${job}:${begun.begun}`, { lines: { A: "", B: "" }, trail: [] });
  const order = [];
  let here = 0;
  let sending = false;
  let down = false;
  let refused = [];
  let touched = false; // something was typed since the page came
  let anew = false; // what is typed was asked about: the next key begins it anew
  let lie = null;

  function read(key, otherwise) {
    try { return JSON.parse(localStorage.getItem(key)) || otherwise; } catch { return otherwise; }
  }
  function keepSettings() {
    try { localStorage.setItem(`slabwright-reading-set:${job}:${begun.begun}`, JSON.stringify(settings)); } catch { /* only comfort is lost */ }
  }

  const wanted = (one) => !edgesOnly.has(one.face) || one.column === 1 || one.column === begun.across;
  const mine = () => waitingEntries().filter((one) => one.begun === begun.begun && !refused.some((no) => no.key === one.key));

  // What was typed before the page was left or the link came back
  for (const { entry } of mine()) apply(entry);

  function apply(entry) {
    const key = keyOf(entry);
    if (entry.act === "edges") edgesOnly.add(entry.face);
    else if (entry.act === "middle") edgesOnly.delete(entry.face);
    else if (entry.act === "clear") taken.delete(key);
    else {
      const z = entry.act === "skip" ? null : height(entry.typed, entry.line);
      taken.delete(key);
      taken.set(key, { z, shown: entry.act === "skip" ? "skipped" : z === undefined ? entry.typed : words(z) });
    }
  }

  /** A typed length in mm; undefined where only the server can tell. */
  function length(typed) {
    const text = typed.trim().replace(",", ".");
    const unit = inch ? INCH : 1;
    const whole = /^(\d+(?:\.\d*)?|\.\d+)$/.exec(text);
    if (whole) return Number(text) * unit;
    const parts = /^(?:(\d+)\s+)?(\d+)\/(\d+)$/.exec(text);
    return parts && Number(parts[3]) ? (Number(parts[1] || 0) + parts[2] / parts[3]) * unit : undefined;
  }
  function height(typed, line) {
    const value = length(typed);
    const level = line.trim() ? length(line) : 0;
    if (value === undefined || level === undefined) return undefined;
    return level ? level - value : value;
  }
  function words(mm) {
    if (!inch) return `${mm.toFixed(1)} mm`;
    const parts = Math.round((Math.abs(mm) / INCH) * 16);
    let [over, under] = [parts % 16, 16];
    while (over && over % 2 === 0) { over /= 2; under /= 2; }
    const text = [Math.floor(parts / 16) || (over ? "" : "0"), over ? `${over}/${under}` : ""].filter((one) => one !== "").join(" ");
    return `${mm < 0 ? "−" : ""}${text} in`;
  }

  /** The height that those around a place lead to expect, mm. */
  function expected(station) {
    const near = (one) => Math.abs(one.x - station.x) + Math.abs(one.y - station.y);
    const same = stations
      .filter((one) => one.face === station.face && one !== station && Number.isFinite(taken.get(keyOf(one))?.z))
      .sort((a, b) => near(a) - near(b)).slice(0, 4).map((one) => taken.get(keyOf(one)).z);
    if (same.length >= 2 || (same.length && station.face === "A")) return middle(same);
    const top = taken.get(keyOf({ ...station, face: "A" }))?.z;
    if (station.face === "A" || !Number.isFinite(top)) return undefined;
    const gaps = [];
    for (const one of stations) {
      const upper = taken.get(keyOf(one))?.z;
      const lower = taken.get(keyOf({ ...one, face: "B" }))?.z;
      if (one.face === "A" && Number.isFinite(upper) && Number.isFinite(lower)) gaps.push(upper - lower);
    }
    return gaps.length ? top - middle(gaps) : undefined;
  }
  function middle(values) {
    const sorted = [...values].sort((a, b) => a - b);
    const half = sorted.length / 2;
    return sorted.length % 2 ? sorted[Math.floor(half)] : (sorted[half - 1] + sorted[half]) / 2;
  }

  /** Why a height should be looked at again; nothing where it should not. */
  function odd(station, z) {
    if (z === undefined) return "";
    const top = taken.get(keyOf({ ...station, face: "A" }))?.z;
    if (station.face === "B" && Number.isFinite(top) && z >= top) return `That is ${words(z)}, not below face A there (${words(top)}).`;
    const wantedHeight = expected(station);
    const off = wantedHeight === undefined ? 0 : z - wantedHeight;
    return Math.abs(off) > begun.far_off ? `That is ${words(z)}, ${words(Math.abs(off))} ${off > 0 ? "above" : "below"} its neighbours.` : "";
  }

  // Keep, and send

  function enter(act, more = {}) {
    const station = stations[here];
    const entry = { id: randomId(), act, face: station.face, row: station.row, column: station.column, typed: "", line: "", units: inch ? "inch" : "metric", ...more };
    try {
      localStorage.setItem(`${KEY}${job}:${begun.begun}:${entry.id}`, JSON.stringify({ when: Date.now() + performance.now() / 1e6, entry }));
    } catch {
      say("This device can keep nothing more: the reading was not taken. Wait until those that wait are sent.", 12);
      return false;
    }
    apply(entry);
    if (act === "take" || act === "skip") {
      order.push(keyOf(station));
      settled(keyOf(station));
    }
    send();
    return true;
  }

  async function send() {
    const batch = mine().slice(0, 100);
    if (sending || !batch.length) return tellWaiting();
    sending = true;
    let answered = false;
    try {
      const answer = await ask(`/api/jobs/${job}/readings/entries`, {
        method: "POST", json: { begun: begun.begun, entries: batch.map((one) => one.entry) },
      });
      answered = true;
      down = false;
      for (const one of batch) {
        const no = answer.refused.find((other) => other.id === one.entry.id);
        if (answer.kept.includes(one.entry.id)) localStorage.removeItem(one.key);
        else if (no) refuse([{ ...one, error: no.error }], "The server could not use them; read these places again.");
      }
      lieSoon();
    } catch (error) {
      const lasting = error instanceof Refused && error.status === 404;
      if (lasting) refuse(batch, error.message);
      else down = true;
      if (error instanceof Refused && !lasting) say(error.message, 10);
    } finally {
      sending = false;
    }
    draw();
    if (answered) send();
  }
  function refuse(entries, why) {
    refused = [...refused, ...entries];
    for (const { entry } of entries) if (entry.act === "take") taken.delete(keyOf(entry));
    showStranded(refused, why);
    tellRefused();
    // Nobody is typing yet: the first of them is read now.
    if (!touched && !at("[data-refused]").hidden) at("[data-refused-read]").click();
  }
  /** A place that was not taken and is read now needs no second look. */
  function settled(key) {
    const gone = refused.filter((one) => one.begun === begun.begun && keyOf(one.entry) === key);
    if (!gone.length) return;
    for (const one of gone) localStorage.removeItem(one.key);
    refused = refused.filter((one) => !gone.includes(one));
    showStranded(refused);
    tellRefused();
  }
  function tellRefused() {
    const first = refused.find(({ entry, begun: of }) => of === begun.begun && stations.some((one) => keyOf(one) === keyOf(entry)));
    at("[data-refused]").hidden = !first;
    if (!first) return;
    const index = stations.findIndex((one) => keyOf(one) === keyOf(first.entry));
    at("[data-refused-words]").textContent = `Not taken: place ${stations.filter(wanted).indexOf(stations[index]) + 1}, ${first.entry.typed}.`;
    at("[data-refused-read]").onclick = () => { field.value = ""; go(index); field.focus(); };
  }
  addEventListener("online", send);
  setInterval(() => {
    if (mine().length) send();
    else if (lieWanted) askLie();
  }, 4000);

  function tellWaiting() {
    const count = mine().length;
    const told = at("[data-waiting]");
    told.className = `link-words ${count ? "care" : "go"}`;
    told.textContent = count
      ? `${count} waiting to be sent${down ? ": the link is down. Go on reading, they are kept on this device." : "."}`
      : taken.size ? "All readings are safe on the server." : "";
  }

  // The keypad

  function type(key) {
    touched = true;
    if (anew) field.value = "";
    hideOdd();
    if (key === "." && /[.,]/.test(field.value)) return refuseKey("There is a point already: the second was not typed.");
    if (key === "back") field.value = field.value.slice(0, -1);
    else if (field.value.length < 12 && !(key === " " && !field.value.trim())) field.value += key;
  }
  function part(text) {
    touched = true;
    if (anew) field.value = "";
    hideOdd();
    const whole = /^\s*(\d+)/.exec(field.value.replace(/\s*\d+\/\d+\s*$/, ""));
    field.value = whole ? `${whole[1]} ${text}` : text;
  }
  function hideOdd() {
    anew = false;
    at("[data-odd]").hidden = true;
    at("[data-place]").hidden = false;
    at("[data-odd-row]").hidden = true;
    at("[data-deeds]").hidden = false;
  }
  /** Said where the place stands, so that no key moves away from under a thumb. */
  function refuseKey(why) {
    at("[data-odd]").textContent = why;
    at("[data-odd]").hidden = false;
    at("[data-place]").hidden = true;
  }
  function next(sure = false) {
    const typed = field.value.trim();
    if (!typed) return say("Type the height first, or skip this place.");
    if (!/[0-9]/.test(typed) || /[.,].*[.,]/.test(typed)) {
      refuseKey(`${typed} is no height: type it again.`);
      anew = true;
      return field.select();
    }
    const line = lineField.value.trim();
    const why = sure ? "" : odd(stations[here], height(typed, line));
    if (why) {
      refuseKey(why);
      anew = true;
      at("[data-odd-row]").hidden = false;
      at("[data-deeds]").hidden = true;
      // The next key replaces what was typed; to keep it takes a press of its own.
      field.focus();
      field.select();
      return;
    }
    if (enter("take", { typed, line })) advance();
  }
  function advance() {
    hideOdd();
    field.value = "";
    const count = stations.length;
    for (let step = 1; step <= count; step += 1) {
      const index = (here + step) % count;
      if (wanted(stations[index]) && !taken.has(keyOf(stations[index]))) return go(index);
    }
    go(here);
    say("Every place is read. Make the survey below, or read a place again.", 10);
  }
  function go(index) {
    const face = stations[here].face;
    here = index;
    if (stations[here].face !== face) lineField.value = settings.lines[stations[here].face] || "";
    hideOdd();
    draw();
  }
  function step(by) {
    const count = stations.length;
    let index = here;
    do index = (index + by + count) % count; while (!wanted(stations[index]) && index !== here);
    field.value = "";
    go(index);
    field.focus();
  }

  place.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    if (button.dataset.key) type(button.dataset.key);
    else if (button.dataset.part) part(button.dataset.part);
    else if (button.dataset.step) step(Number(button.dataset.step));
  });
  at("[data-pad]").addEventListener("submit", (event) => { event.preventDefault(); next(); });
  at("[data-keep-odd]").addEventListener("click", () => { next(true); field.focus(); });
  at("[data-type-again]").addEventListener("click", () => { hideOdd(); field.value = ""; field.focus(); });
  at("[data-skip]").addEventListener("click", () => { if (enter("skip")) advance(); });
  at("[data-redo]").addEventListener("click", () => {
    const last = order.pop() || [...taken.keys()].pop();
    const index = stations.findIndex((one) => keyOf(one) === last);
    if (index < 0) return say("Nothing has been read yet.");
    field.value = "";
    go(index);
    field.focus();
  });
  field.addEventListener("input", () => { touched = true; hideOdd(); });
  lineField.addEventListener("input", () => { settings.lines[stations[here].face] = lineField.value; keepSettings(); draw(); });
  at("[data-edges]").addEventListener("click", () => {
    const { face } = stations[here];
    if (!enter(edgesOnly.has(face) ? "middle" : "edges", { row: 0, column: 0 })) return;
    if (wanted(stations[here])) draw();
    else advance();
  });

  // The map

  const map = at("[data-map]");
  const xs = begun.outline.map(([x]) => x);
  const ys = begun.outline.map(([, y]) => y);
  const box = [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];

  function element(name, attributes, text) {
    const made = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    if (text !== undefined) made.textContent = text;
    return made;
  }

  let onMap = () => [0, 0];
  function drawMap() {
    const wide = map.clientWidth < 560 ? 400 : 860;
    const scale = (wide - 40) / Math.max(box[2] - box[0], 1);
    const high = (box[3] - box[1]) * scale + 56;
    onMap = (x, y) => [20 + (x - box[0]) * scale, 18 + (box[3] - y) * scale];
    map.setAttribute("viewBox", `0 0 ${wide} ${high}`);
    const { face } = stations[here];
    const corners = begun.outline.map(([x, y]) => onMap(x, y).map((one) => one.toFixed(1)).join(" "));
    const parts = [element("path", { class: "slab", d: `M${corners.join("L")}Z` })];
    const above = new Map((lie?.above || []).filter((one) => one.face === face).map((one) => [keyOf(one), one.above]));
    const most = Math.max(1e-6, ...above.values());
    const deciding = new Set(lie?.deciding || []);
    const unsent = new Set(mine().map(({ entry }) => keyOf(entry)));
    stations.forEach((one, index) => {
      if (one.face !== face || !wanted(one)) return;
      const key = keyOf(one);
      const [x, y] = onMap(one.x, one.y);
      const known = taken.get(key);
      if (known && known.z === null) parts.push(element("path", { class: "skipped", d: `M${x - 6} ${y - 6}l12 12m0 -12l-12 12` }));
      else if (known && deciding.has(key)) parts.push(element("path", { class: "deciding", d: `M${x} ${y - 10}l10 10l-10 10l-10 -10Z` }));
      else if (known) parts.push(element("circle", { class: "read", cx: x, cy: y, r: 8, "fill-opacity": above.has(key) ? (0.2 + 0.8 * Math.max(0, above.get(key)) / most).toFixed(2) : 1 }));
      else parts.push(element("circle", { class: "open", cx: x, cy: y, r: 6 }));
      if (unsent.has(key)) parts.push(element("circle", { class: "unsent", cx: x, cy: y, r: 12 }));
      if (index === here) parts.push(element("circle", { class: "here", cx: x, cy: y, r: 14 }));
    });
    const foot = (high - 8).toFixed(1);
    parts.push(element("text", { x: 20, y: foot }, "x = 0 end"), element("text", { x: wide - 20, y: foot, "text-anchor": "end" }, "far end →"));
    map.replaceChildren(...parts);
  }
  map.addEventListener("click", (event) => {
    const frame = map.createSVGPoint();
    frame.x = event.clientX;
    frame.y = event.clientY;
    const point = frame.matrixTransform(map.getScreenCTM().inverse());
    let best = -1;
    let least = Infinity;
    stations.forEach((one, index) => {
      if (one.face !== stations[here].face || !wanted(one)) return;
      const [x, y] = onMap(one.x, one.y);
      const far = (x - point.x) ** 2 + (y - point.y) ** 2;
      if (far < least) [best, least] = [index, far];
    });
    if (best >= 0) { field.value = ""; go(best); }
  });

  function draw() {
    const station = stations[here];
    const all = stations.filter(wanted);
    const known = taken.get(keyOf(station));
    const line = lineField.value.trim();
    at("[data-face]").textContent = station.face === "A" ? "Face A, the top" : "Face B, from below";
    at("[data-number]").textContent = `${all.indexOf(station) + 1} of ${all.length}`;
    at("[data-place]").textContent = `${station.words}; ${line ? `down from the line at ${line}` : "up from the bed"}${known ? `. It was ${known.shown}: type it again, or go on.` : ""}`;
    const edges = at("[data-edges]");
    edges.setAttribute("aria-pressed", String(edgesOnly.has(station.face)));
    edges.textContent = edgesOnly.has(station.face) ? `Read the middle of face ${station.face} too` : `Only the long edges of face ${station.face} can be reached`;
    const read = (face) => all.filter((one) => one.face === face && taken.has(keyOf(one))).length;
    const count = (face) => all.filter((one) => one.face === face).length;
    at("[data-map-words]").textContent = `Face A: ${read("A")} of ${count("A")} read. Face B: ${read("B")} of ${count("B")}.`;
    at("[data-map-more]").textContent = `Ringed: the place to read now.${lie?.above?.length ? " Stronger colour: more to come off." : ""} Both faces as seen from above.`;
    const left = all.filter((one) => !taken.has(keyOf(one))).length;
    at("[data-left]").textContent = left ? `${left} places are still to be read.` : "Every place is read or skipped.";
    at("[data-finish]").classList.toggle("main", !left);
    drawMap();
    tellWaiting();
  }

  // The lie so far

  let lieTimer = 0;
  let asking = false;
  let lieWanted = false;
  let closing = false; // the readings end: nobody asks for their lie any more
  function lieSoon() {
    lieWanted = true;
    clearTimeout(lieTimer);
    lieTimer = setTimeout(askLie, 700);
  }
  async function askLie() {
    if (closing) return;
    if (asking) return lieSoon();
    asking = true;
    try {
      lieWanted = false;
      lie = await ask(`/api/jobs/${job}/readings/lie?begun=${begun.begun}`);
    } catch (error) {
      lieWanted = !(error instanceof Refused);
      if (error instanceof Refused) at("[data-lie-words]").textContent = error.message;
      return;
    } finally {
      asking = false;
    }
    at("[data-lie-words]").textContent = lie.waiting || `From ${lie.read} heights. ${lie.deciding.length} of them decide it: the diamonds.`;
    at("[data-thickness]").textContent = lie.thickness_shown || "–";
    at("[data-promised]").textContent = lie.promised_shown || "–";
    const short = at("[data-lie-short]");
    short.hidden = lie.thickness === null;
    short.textContent = `Board so far ${lie.thickness_shown}, sure ${lie.promised_shown}`;
    if (lie.thickness !== null) {
      settings.trail = [...settings.trail.filter((one) => one.read < lie.read), { read: lie.read, of: lie.thickness, sure: lie.promised }].slice(-400);
      keepSettings();
    }
    drawTrail();
    draw();
  }

  function drawTrail() {
    const trail = at("[data-trail]");
    const points = settings.trail;
    trail.toggleAttribute("hidden", points.length < 2);
    if (points.length < 2) return;
    const [wide, high] = [trail.clientWidth < 560 ? 400 : 860, 170];
    const first = points[0].read;
    const last = points[points.length - 1].read;
    const low = Math.min(...points.map((one) => one.sure));
    const most = Math.max(...points.map((one) => one.of));
    const x = (count) => 10 + ((wide - 130) * (count - first)) / Math.max(last - first, 1);
    const y = (value) => 20 + ((high - 50) * (most - value)) / Math.max(most - low, 0.5);
    const chain = (name) => `M${points.map((one) => `${x(one.read).toFixed(1)} ${y(one[name]).toFixed(1)}`).join("L")}`;
    const end = points[points.length - 1];
    const apart = Math.max(y(end.sure), y(end.of) + 18);
    trail.setAttribute("viewBox", `0 0 ${wide} ${high}`);
    trail.replaceChildren(
      element("path", { class: "axis", d: `M10 ${high - 24}H${wide - 120}` }),
      element("path", { class: "of", d: chain("of") }),
      element("path", { class: "sure", d: chain("sure") }),
      element("text", { x: x(last) + 8, y: y(end.of) + 5 }, "readings"),
      element("text", { x: x(last) + 8, y: apart + 5 }, "sure"),
      element("text", { x: 10, y: high - 6 }, `${first} heights`),
      element("text", { x: wide - 120, y: high - 6, "text-anchor": "end" }, `${last}`),
    );
  }

  // The end

  function sure(words, deed) {
    const row = at("[data-sure]");
    row.querySelector("[data-sure-words]").textContent = words;
    row.hidden = false;
    row.querySelector("[data-yes]").onclick = () => { row.hidden = true; deed(); };
    row.querySelector("[data-no]").onclick = () => { row.hidden = true; };
    row.querySelector("[data-yes]").focus();
  }
  function tellWrong(words) {
    const box = at("[data-finish-wrong]");
    box.textContent = words;
    box.hidden = !words;
  }
  async function close(what, json) {
    tellWrong("");
    if (mine().length) await send();
    if (mine().length) return tellWrong("Some readings wait to be sent. They must be on the server first.");
    body.dataset.saving = "yes";
    closing = true;
    while (asking) await new Promise((done) => setTimeout(done, 50));
    try {
      await ask(`/api/jobs/${job}/readings/${what}`, { method: "POST", json: { begun: begun.begun, ...json } });
      localStorage.removeItem(`slabwright-reading-set:${job}:${begun.begun}`);
      clearTimeout(lieTimer);
      if (what === "finish") location.assign(`/jobs/${job}/slab`);
      else show();
    } catch (error) {
      if (error instanceof Refused && error.status === 409) tellWrong(`The job was changed on another device: revision ${error.answer.newest}. Press once more.`);
      else tellWrong(error instanceof Refused ? error.message : "The link is down; the readings are kept. Try again when it is back.");
      if (error instanceof Refused && error.status === 409) body.dataset.revision = error.answer.newest;
    } finally {
      closing = false;
      delete body.dataset.saving;
    }
  }
  at("[data-finish]").addEventListener("click", () => {
    const left = stations.filter((one) => wanted(one) && !taken.has(keyOf(one))).length;
    const finish = () => close("finish", { based_on: revision() });
    if (left) sure(`${left} places are not read. Make the survey without them?`, finish);
    else finish();
  });
  at("[data-aside]").addEventListener("click", () => sure("Put these readings aside? They are kept, and no longer shown.", () => close("aside", {})));

  const stale = waitingEntries().filter((one) => one.begun !== begun.begun);
  if (stale.length) { refused = stale; showStranded(stale, "They were read for readings that are closed: they became a survey, or were put aside."); }
  const firstOpen = stations.findIndex((one) => wanted(one) && !taken.has(keyOf(one)));
  here = Math.max(firstOpen, 0);
  tellRefused();
  lineField.value = settings.lines[stations[here].face] || "";
  draw();
  drawTrail();
  send();
  if (taken.size) lieSoon();
  addEventListener("resize", () => { draw(); drawTrail(); });
  if (matchMedia("(pointer: fine)").matches) field.focus({ preventScroll: true });
  // On a phone the map and the keypad fill the screen.
  if (innerWidth < 600) place.scrollIntoView({ block: "start" });
}
