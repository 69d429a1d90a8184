// The frame of every page: why this number, what moved, other devices, who works here, and forms that save themselves.

import { Refused, ask, body, edit, editForm, job, revision, say, show, tellSaved } from "./bench.js";
import "./going_back.js";

// Why this number?

const whyBox = document.getElementById("why");
document.addEventListener("click", async (event) => {
  const button = event.target.closest("[data-why]");
  if (!button) return;
  const inside = whyBox.querySelector("[data-inside]");
  try {
    const path = button.dataset.why.split("/").map(encodeURIComponent).join("/");
    const answer = await fetch(`/jobs/${job}/why/${path}?revision=${revision()}`);
    if (!answer.ok) throw new Error("not told");
    inside.innerHTML = await answer.text();
  } catch {
    inside.innerHTML = '<h2 id="why-title">Not told</h2><p>The link is down, or this figure is not there any more.</p>';
  }
  whyBox.showModal();
  const head = inside.querySelector("h2"); // read from its head on, not from the button at its foot
  if (head) {
    head.tabIndex = -1;
    head.focus();
  }
  whyBox.scrollTop = 0;
});

// Remedies that the tool can apply

document.addEventListener("click", async (event) => {
  const button = event.target.closest("[data-apply]");
  if (!button) return;
  button.disabled = true;
  try {
    await edit(JSON.parse(button.dataset.apply), { why: button.dataset.whyChanged || button.textContent.trim(), file: button.dataset.file });
  } catch (error) {
    say(error instanceof Refused ? error.message : "The link is down; nothing was changed.", 10);
    button.disabled = false;
  }
});

// What moved since this device looked last

const moved = document.getElementById("moved");
const seenKey = `slabwright-seen:${job}`;

function seen(number) {
  try { localStorage.setItem(seenKey, String(number)); } catch { /* then all is shown as seen */ }
}

async function showMoved() {
  if (!moved) return;
  let last = 0;
  try { last = Number(localStorage.getItem(seenKey)) || 0; } catch { last = 0; }
  if (!last || last > revision()) return seen(revision());
  if (last === revision()) return;
  const answer = await fetch(`/jobs/${job}/moved?since=${last}`);
  if (!answer.ok) return seen(revision());
  const piece = (await answer.text()).trim();
  if (!piece) return seen(revision());
  moved.innerHTML = piece;
  moved.hidden = false;
  moved.querySelector("[data-seen]").addEventListener("click", () => { seen(revision()); moved.hidden = true; });
}
showMoved().catch(() => {});


// Other devices

if (job) {
  const bar = document.getElementById("changed");
  const events = new EventSource(`/api/jobs/${job}/events?since=${revision()}`);
  events.addEventListener("revision", (event) => {
    const change = JSON.parse(event.data);
    const tell = () => {
      if (body.dataset.saving) return setTimeout(tell, 300);
      if (change.revision <= revision()) return;
      bar.querySelector("[data-words]").textContent = change.who
        ? `Changed on another device (${change.who}): revision ${change.revision}.`
        : `Changed on another device: revision ${change.revision}.`;
      bar.hidden = false;
    };
    tell();
  });
  bar.querySelector("[data-show]").addEventListener("click", show);
  addEventListener("pagehide", () => events.close());
}

// Who works here

const nameBox = document.getElementById("name");
document.querySelector("[data-who]").addEventListener("click", () => nameBox.showModal());
nameBox.addEventListener("close", async () => {
  const who = nameBox.querySelector("input").value.trim();
  if (nameBox.returnValue !== "keep" || !who) return;
  try {
    const named = await ask("/api/session", { method: "PUT", json: { who } });
    document.querySelector("[data-who-words]").textContent = named.who;
  } catch (error) {
    say(error.message);
  }
});

// Times in the device's own zone

for (const time of document.querySelectorAll("time[data-when]")) {
  time.textContent = new Date(time.dateTime).toLocaleString([], { dateStyle: "medium", timeStyle: "short" });
}

/** What a long page holds, to go there at once. */
function contents() {
  const parts = [...document.querySelectorAll("main section.panel[aria-labelledby]")].filter((one) => one.offsetParent);
  const heads = parts.map((one) => document.getElementById(one.getAttribute("aria-labelledby"))).filter(Boolean);
  if (!job || heads.length < 5 || body.dataset.page === "readings") return;
  const list = document.createElement("ul");
  list.append(...heads.slice(1).map((head) => {
    const item = document.createElement("li");
    const link = document.createElement("a");
    link.href = `#${head.id}`;
    link.textContent = [...head.childNodes].filter((node) => !node.classList?.contains("voice")).map((node) => node.textContent).join("").trim();
    item.append(link);
    return item;
  }));
  const box = document.createElement("details");
  box.className = "jumps";
  const words = document.createElement("summary");
  words.textContent = `On this page: ${heads.length - 1} more parts`;
  const nav = document.createElement("nav");
  nav.setAttribute("aria-label", "On this page");
  nav.append(list);
  box.append(words, nav);
  parts[0].closest("main > *").before(box);
  nav.addEventListener("click", (event) => { if (event.target.closest("a")) box.open = false; });
}

for (const form of document.querySelectorAll("form[data-edit]")) editForm(form);
const current = document.querySelector(".steps [aria-current]");
if (current) current.scrollIntoView({ block: "nearest", inline: "center" });
contents();
tellSaved();
