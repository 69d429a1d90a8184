// What today and the days have in common: a body that fills in when the days are worked out, and work that is sent when it can be.

import { Refused, ask, body, later, say } from "./bench.js";

const QUEUE = "slabwright-log";
const place = document.querySelector("[data-body]");
let timer = 0;

function busy() {
  const active = document.activeElement;
  return Boolean(place.querySelector(".choices:not([hidden]), form.typed") || (active && place.contains(active) && /^(INPUT|TEXTAREA|SELECT)$/.test(active.tagName)));
}

/** Show the body as it is now; not while something is being filled in, unless it must be. */
export async function refresh(must = false) {
  clearTimeout(timer);
  if (must || !busy()) {
    try {
      const open = [...place.querySelectorAll("details[open][data-day]")].map((one) => one.dataset.day);
      const answer = await fetch(place.dataset.address);
      if (answer.ok) {
        const focus = document.activeElement?.id;
        place.innerHTML = await answer.text();
        for (const day of open) place.querySelector(`details[data-day="${day}"]`)?.setAttribute("open", "");
        if (focus) document.getElementById(focus)?.focus();
        place.dispatchEvent(new CustomEvent("filled"));
      }
    } catch { /* the next time */ }
  }
  next();
}

function next() {
  clearTimeout(timer);
  const known = place.querySelector("[data-known]")?.dataset.known === "yes";
  timer = setTimeout(refresh, known ? 60000 : 1500);
}

export function here() {
  const now = new Date();
  const two = (number) => String(number).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}T${two(now.getHours())}:${two(now.getMinutes())}:00`;
}

function queued() {
  try { return JSON.parse(localStorage.getItem(QUEUE) || "[]"); } catch { return []; }
}
function hold(list) {
  try { localStorage.setItem(QUEUE, JSON.stringify(list)); } catch { say("This browser keeps nothing: stay on this page until the link is back."); }
}

let sending = null;
async function flush() {
  let last;
  for (let list = queued(); list.length; list = queued()) {
    const [first] = list;
    try {
      last = await ask(first.address, { method: "POST", json: first.json });
    } catch (error) {
      if (!(error instanceof Refused) || error.status >= 500 || error.status === 429 || error.status === 401) {
        later(sendAndShow);
        throw error;
      }
      say(`${first.json.operation || ""}: ${error.message}`, 12);
      last = null;
    }
    hold(queued().slice(1));
  }
  return last;
}
async function send() {
  sending = sending || flush().finally(() => { sending = null; });
  try { return await sending; } catch { return undefined; }
}

/** What waited for the link, and then what came of it, without waiting for the next turn. */
async function sendAndShow() {
  await send();
  await refresh();
}

/** Send work to the server; kept on the device until it has it. Resolves to its answer, null if refused, undefined if it waits. */
export async function post(address, json) {
  body.dataset.saving = "yes";
  hold([...queued(), { address, json }]);
  try {
    if (sending) await sending.catch(() => {});
    const answer = await send();
    if (answer && answer.job === Number(body.dataset.job) && answer.revision) body.dataset.revision = answer.revision;
    return answer;
  } finally {
    delete body.dataset.saving;
  }
}

if (queued().length) send().then(() => refresh());
next();
document.addEventListener("visibilitychange", () => { if (!document.hidden) refresh(); });
