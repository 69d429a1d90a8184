// Small things that finish and delivery share. Ticks that are kept on this device: each by its own words, so that it goes when what it stands for changes.

import { job, say } from "./bench.js";

export function ticks(cards, kind) {
  const key = `slabwright-ticks:${job}:${kind}`;
  const read = () => { try { return JSON.parse(localStorage.getItem(key) || "{}"); } catch { return {}; } };
  const told = read();
  const known = {};
  const shown = (card, at) => {
    card.classList.toggle("ticked", Boolean(at));
    const place = card.querySelector("[data-ticked]");
    if (place) place.textContent = at ? new Date(at).toLocaleString([], { dateStyle: "short", timeStyle: "short" }) : "";
  };
  for (const card of cards) {
    const name = card.dataset.tick;
    const box = card.querySelector("input[type=checkbox]");
    if (told[name]) known[name] = told[name];
    box.checked = Boolean(told[name]);
    shown(card, told[name]);
    box.addEventListener("change", () => {
      const now = read();
      if (box.checked) now[name] = Date.now();
      else delete now[name];
      try { localStorage.setItem(key, JSON.stringify(now)); } catch { say("This browser keeps nothing: the tick is lost when the page is left."); }
      shown(card, now[name]);
    });
  }
  try { localStorage.setItem(key, JSON.stringify(known)); } catch { /* then nothing is kept */ }
}

/** Options that stand in a row on a phone: the one that is taken is in sight. */
export function takenInSight() {
  for (const row of document.querySelectorAll(".options")) {
    const taken = row.querySelector(".taken");
    if (taken && row.scrollWidth > row.clientWidth) row.scrollLeft = taken.offsetLeft - (row.clientWidth - taken.offsetWidth) / 2;
  }
}
