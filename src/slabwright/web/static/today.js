// Today: taps that log, with a way to take the last one back; pictures first where one is wanted.

import { Refused, ask, say, wrong } from "./bench.js";
import { here, post, refresh } from "./days_live.js";

const taken = document.getElementById("taken");
const SAID = { started: "started", stopped: "time logged", done: "done", delayed: "delayed", failed: "went wrong, to be done again", approved: "signed" };

function told(words, line) {
  taken.querySelector("[data-words]").textContent = words;
  const button = taken.querySelector("[data-take-back]");
  button.hidden = !line;
  button.dataset.line = line ? JSON.stringify(line) : "";
  taken.hidden = false;
}

async function log({ job, ...work }) {
  work.at = here();
  const answer = await post(`/api/jobs/${job}/log`, work);
  if (answer === null) return refresh(true);
  const words = `${work.operation}: ${SAID[work.event] || work.event}${work.minutes && work.event === "stopped" ? ` (${work.minutes} min)` : ""}`;
  if (answer) told(`${words}.`, { job, operation: work.operation, event: work.event, at: work.at });
  else told(`${words}: kept here until the link is back.`, null);
  await refresh(true);
}

function open(button) {
  const wanted = document.getElementById(button.getAttribute("aria-controls"));
  for (const other of document.querySelectorAll("[data-open]")) {
    const panel = document.getElementById(other.getAttribute("aria-controls"));
    const shown = panel === wanted && panel.hidden;
    panel.hidden = !shown;
    other.setAttribute("aria-expanded", String(shown));
  }
  if (!wanted.hidden) {
    wanted.querySelector("button").focus();
    wanted.scrollIntoView({ block: "nearest" });
  }
}

document.addEventListener("click", async (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  const data = button.dataset;
  if (data.open) return open(button);
  if (data.takeBack !== undefined) {
    const { job, ...line } = JSON.parse(data.line);
    taken.hidden = true;
    await post(`/api/jobs/${job}/log/take-back`, line);
    return refresh(true);
  }
  const kind = ["log", "came", "allCame", "note", "askAgain", "anew"].find((name) => data[name] !== undefined);
  if (!kind) return;
  button.disabled = true;
  try {
    if (kind === "log") await log(JSON.parse(data.log));
    if (kind === "came") {
      const { job, things } = JSON.parse(data.came);
      await post(`/api/jobs/${job}/received`, { things, came: true });
      await refresh(true);
    }
    if (kind === "allCame") {
      const { job, operation, things } = JSON.parse(data.allCame);
      if (things.length) await post(`/api/jobs/${job}/received`, { things, came: true });
      await log({ job, operation, event: "done" });
    }
    if (kind === "note") {
      const { job, ...note } = JSON.parse(data.note);
      await post(`/api/jobs/${job}/log/note`, note);
      await refresh(true);
    }
    if (kind === "askAgain") {
      const { job, what } = JSON.parse(data.askAgain);
      await ask(`/api/jobs/${job}/client/ask-again`, { method: "POST", json: { what } });
      await refresh(true);
    }
    if (kind === "anew") {
      await ask("/api/today/anew", { method: "POST" });
      await refresh(true);
    }
  } catch (error) {
    say(error instanceof Refused ? error.message : "The link is down; nothing was changed.", 10);
  } finally {
    button.disabled = false;
  }
});

document.addEventListener("input", (event) => event.target.closest("form[data-measure]")?.classList.add("typed"));
document.addEventListener("submit", async (event) => {
  const form = event.target.closest("form[data-measure]");
  if (!form) return;
  event.preventDefault();
  const values = Object.fromEntries([...form.querySelectorAll("input")].map((one) => [one.name, one.value.trim()]).filter(([, typed]) => typed));
  if (!Object.keys(values).length) return say("Nothing was typed.");
  const answer = await post(`/api/jobs/${form.dataset.measure}/as-made`, { values });
  if (answer === null) return;
  form.classList.remove("typed");
  told(answer ? "What was measured is kept; the plan follows." : "What was measured is kept here until the link is back.", null);
  await refresh(true);
});

/** Minutes as they are typed: 45, 45 min, 1:20, 1 h 20, 1.5 h; null where it is no time. */
export function minutes(typed) {
  const text = typed.trim().toLowerCase().replace(",", ".");
  const clock = text.match(/^([0-9]{1,3})\s*(?::|h(?:ours?)?)\s*([0-5]?[0-9])\s*(?:min(?:utes)?)?$/);
  if (clock) return Number(clock[1]) * 60 + Number(clock[2]) || null;
  const plain = text.match(/^([0-9]{1,4}(?:\.[0-9]+)?)\s*(min(?:utes)?|h(?:ours?)?)?$/);
  if (!plain) return null;
  return Math.round(Number(plain[1]) * (plain[2]?.startsWith("h") ? 60 : 1)) || null;
}

document.addEventListener("submit", async (event) => {
  const form = event.target.closest("[data-log-time]");
  if (!form) return;
  event.preventDefault();
  const took = minutes(form.elements.time.value);
  if (!took) return wrong(form, "Write minutes such as 45, or hours and minutes such as 1:20.");
  try {
    await log({ ...JSON.parse(form.dataset.logTime), minutes: took });
  } catch (error) {
    wrong(form, error instanceof Refused ? error.message : "The link is down; nothing was changed.");
  }
});

document.addEventListener("change", async (event) => {
  const field = event.target.closest("[data-photo]");
  if (!field || !field.files.length) return;
  const { job, note } = JSON.parse(field.dataset.photo);
  const form = new FormData();
  form.append("photo", field.files[0]);
  form.append("note", note);
  try {
    await ask(`/api/jobs/${job}/photos`, { method: "POST", form });
    told(`Picture kept: ${note}.`, null);
  } catch (error) {
    say(error instanceof Refused ? error.message : "The link is down; take the picture again when it is back.", 10);
  }
  field.value = "";
});
