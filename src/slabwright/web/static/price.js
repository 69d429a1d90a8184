// The price: margin or mark-up as typed, what a change costs, ticks of what came.

import { Refused, ask, body, edit, say, wrong } from "./bench.js";

const job = Number(body.dataset.job);
const down = "The link is down; nothing was changed.";

const share = document.querySelector("[data-share]");
share?.addEventListener("submit", async (event) => {
  event.preventDefault();
  wrong(share, "");
  const percent = Number(share.elements.percent.value.trim().replace(",", ".").replace(/\s*%$/, ""));
  if (!Number.isFinite(percent)) return wrong(share, "Write the percent as a number, such as 25.");
  const what = share.elements.what.value;
  const other = what === "margin" ? "mark_up" : "margin";
  try {
    await edit({ [`quote.${what}`]: percent, [`quote.${other}`]: null }, { why: `${what === "margin" ? "margin" : "mark-up"} ${percent} %` });
  } catch (error) {
    wrong(share, error instanceof Refused ? error.message : down);
  }
});

function element(name, text, className) {
  const made = document.createElement(name);
  if (text) made.textContent = text;
  if (className) made.className = className;
  return made;
}

const compare = document.querySelector("[data-change]");
compare?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const place = document.querySelector("[data-change-place]");
  const trouble = document.querySelector("[data-change-wrong]");
  trouble.hidden = true;
  try {
    const change = await ask(`/api/jobs/${job}/change?old=${compare.elements.old.value}`);
    const list = element("ul");
    for (const one of change.lines) {
      const item = element("li", `${one.name}: `);
      item.append(element("span", one.before, "was"), " → ", element("strong", one.after));
      list.append(item);
    }
    const first = element("p");
    first.append(element("strong", `Since revision ${change.old}: ${change.money}`), `, ${change.total} in all${change.days ? `; ${change.days}` : ""}.`);
    const keys = element("ul");
    for (const one of change.changes) keys.append(element("li", one));
    const row = element("p", "", "row");
    const paper = element("a", "Page to sign", "button quiet");
    paper.href = change.paper;
    paper.download = "";
    row.append(paper);
    place.replaceChildren(first, list, keys, row);
  } catch (error) {
    trouble.textContent = error instanceof Refused ? error.message : down;
    trouble.hidden = false;
  }
});

document.addEventListener("click", async (event) => {
  const button = event.target.closest("[data-came]");
  if (!button) return;
  const came = button.getAttribute("aria-pressed") !== "true";
  button.disabled = true;
  body.dataset.saving = "yes";
  try {
    const answer = await ask(`/api/jobs/${job}/received`, { method: "POST", json: { things: [button.dataset.came], came } });
    body.dataset.revision = answer.revision;
    button.setAttribute("aria-pressed", String(came));
  } catch (error) {
    say(error instanceof Refused ? error.message : down, 10);
  } finally {
    button.disabled = false;
    delete body.dataset.saving;
  }
});
