// Sheets: begin to make them, and watch.

import { Refused, ask, job, say, show } from "./bench.js";

const place = document.querySelector("[data-sheets]");

async function watch() {
  try {
    const now = await ask(`/api/jobs/${job}/sheets/progress`);
    if (now.state !== "drawing") return show();
    const step = place.querySelector("[data-step]");
    if (step) step.textContent = now.step;
  } catch (error) {
    if (error instanceof Refused) return say(error.message, 10);
  }
  setTimeout(watch, 700);
}

place.querySelector("[data-make]")?.addEventListener("click", async (event) => {
  event.target.disabled = true;
  try {
    await ask(`/api/jobs/${job}/sheets/make`, { method: "POST" });
    show();
  } catch (error) {
    say(error instanceof Refused ? error.message : "The link is down; try again when it is back.", 10);
    event.target.disabled = false;
  }
});
if (place.dataset.state === "drawing") watch();
