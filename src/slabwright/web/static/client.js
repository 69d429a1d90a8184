// The client's links and progress photos.

import { Refused, ask, job, say, show, wrong } from "./bench.js";

const link = document.querySelector("[data-link]");
link.addEventListener("submit", async (event) => {
  event.preventDefault();
  wrong(link, "");
  try {
    const given = await ask(`/api/jobs/${job}/client-links`, { method: "POST", json: { to: link.elements.to.value, days: Number(link.elements.days.value) } });
    const box = document.querySelector("[data-given]");
    box.hidden = false;
    const field = box.querySelector("input");
    field.value = given.address;
    box.querySelector("[data-look]").href = new URL(given.address).pathname;
    const reach = box.querySelector("[data-reach]");
    reach.querySelector("[data-words]").textContent = given.reach;
    reach.hidden = !given.reach;
    field.focus();
    field.select();
    say("A link was given. It is told this once.");
  } catch (error) {
    wrong(link, error instanceof Refused ? error.message : "The link to the server is down; try again.");
  }
});

document.querySelector("[data-copy]").addEventListener("click", async () => {
  const field = document.getElementById("given");
  field.focus();
  field.select();
  try {
    await navigator.clipboard.writeText(field.value);
    say("Copied.");
  } catch {
    // Over plain HTTP a browser gives no clipboard; the older way still works there.
    say(document.execCommand("copy") ? "Copied." : "It is marked: copy it with Ctrl-C, or hold it.");
  }
});

document.addEventListener("click", async (event) => {
  const button = event.target.closest("[data-take-back]");
  if (!button) return;
  try {
    await ask(`/api/jobs/${job}/client-links/${encodeURIComponent(button.dataset.takeBack)}`, { method: "DELETE" });
    show();
  } catch (error) {
    say(error.message, 10);
  }
});

document.addEventListener("click", async (event) => {
  const button = event.target.closest("[data-ask-again]");
  if (!button) return;
  button.disabled = true;
  try {
    await ask(`/api/jobs/${job}/client/ask-again`, { method: "POST", json: { what: button.dataset.askAgain } });
    show();
  } catch (error) {
    say(error instanceof Refused ? error.message : "The link is down; nothing was changed.", 10);
    button.disabled = false;
  }
});

const photo = document.querySelector("[data-photo]");
photo.addEventListener("submit", async (event) => {
  event.preventDefault();
  wrong(photo, "");
  try {
    await ask(`/api/jobs/${job}/photos`, { method: "POST", form: new FormData(photo) });
    photo.reset();
    say("The photo is kept.");
  } catch (error) {
    wrong(photo, error instanceof Refused ? error.message : "The link to the server is down; keep the photo and try again.");
  }
});
