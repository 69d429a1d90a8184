// The brief: the picture of the base may be chosen by its number too.

import { say } from "./bench.js";

const bases = [...document.querySelectorAll('input[name="piece.base"]')].filter((one) => one.value);
document.addEventListener("keydown", (event) => {
  if (!event.altKey || !/^[1-9]$/.test(event.key)) return;
  const chosen = bases[Number(event.key) - 1];
  if (!chosen) return;
  event.preventDefault();
  chosen.checked = true;
  chosen.dispatchEvent(new Event("input", { bubbles: true }));
  say(`Base: ${chosen.value}`);
});
