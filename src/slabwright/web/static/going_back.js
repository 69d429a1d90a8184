// Bring an earlier revision back: first what that would take away, in words; then it is done.

import { Refused, ask, job, say, show } from "./bench.js";

function made(tag, words = "", more = {}) {
  const one = document.createElement(tag);
  one.textContent = words;
  return Object.assign(one, more);
}

function list(title, lines, most = 8) {
  const part = made("section");
  const rows = made("ul", "", { className: "open" });
  rows.append(...lines.slice(0, most).map((line) => made("li", line)));
  if (lines.length > most) rows.append(made("li", `and ${lines.length - most} more`));
  part.append(made("h3", title), rows);
  return part;
}

function told(value) {
  const plain = value === null ? "not stated" : value.replace(/^(["'])(.*)\1$/s, "$2");
  return plain.length > 40 ? `${plain.slice(0, 40)}…` : plain;
}

/** What going back to a revision would take away; resolves to the choice: null, "stays" or "goes". */
function question(going) {
  const box = made("dialog", "", { className: "going-back" });
  const form = made("form", "", { method: "dialog" });
  const steps = going.takes_back;
  const title = made("h2", steps.length === 1 ? `Undo revision ${going.newest}?` : `Back to revision ${going.number}?`, { id: "going-back-title" });
  box.setAttribute("aria-labelledby", title.id);
  form.append(title);
  if (steps.length > 1) form.append(list(`This undoes ${steps.length} changes`, steps.map((one) => `revision ${one.number}, ${one.who}: ${one.why || "no words"}`), 6));
  else if (steps.length) form.append(made("p", `${steps[0].who}: ${steps[0].why || "no words"}`));
  const stated = going.stated.map((one) => `${one.key || one.file}: ${told(one.old)} → ${told(one.new)}`);
  if (stated.length) form.append(list("What is stated goes back", stated));
  if (going.refused) form.append(made("p", `What happened since cannot stay with it: ${going.refused}.`));
  else if (going.only_happened) form.append(made("p", "Nothing that is stated is different: only what happened."));
  if (going.happened.length) form.append(list(going.refused ? "What happened since, and would go too" : "What happened since", going.happened));
  if (!stated.length && !going.happened.length) form.append(made("p", "Nothing is different."));
  const row = made("p", "", { className: "row" });
  const stays = going.happened.length ? "Go back; what happened stays" : "Go back";
  if (!going.refused && !going.only_happened) row.append(made("button", stays, { value: "stays", className: "main" }));
  if (going.happened.length) row.append(made("button", going.only_happened ? "Take that away" : "Go back, and take away what happened too", { value: "goes" }));
  row.append(made("button", "Leave it as it is", { value: "", className: "quiet" }));
  form.append(row);
  box.append(form);
  document.body.append(box);
  return new Promise((decided) => {
    box.addEventListener("close", () => { box.remove(); decided(box.returnValue || null); });
    box.showModal();
  });
}

async function restore(number) {
  try {
    const choice = await question(await ask(`/api/jobs/${job}/going-back?number=${number}`));
    if (!choice) return;
    await ask(`/api/jobs/${job}/restore`, { method: "POST", json: { number, as_it_was: choice === "goes" } });
    show();
  } catch (error) {
    say(error instanceof Refused ? error.message : "The link is down; nothing was changed.", 10);
  }
}
document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-restore]");
  if (button) restore(Number(button.dataset.restore));
});
