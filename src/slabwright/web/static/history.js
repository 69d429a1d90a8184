// History: what a draft says otherwise, put it on top, or set it aside.

import { Refused, ask, job, revision, say, show } from "./bench.js";

for (const item of document.querySelectorAll("[data-draft]")) {
  const address = `/api/jobs/${job}/drafts/${item.dataset.draft}`;
  const act = async (deed) => {
    try {
      await deed();
    } catch (error) {
      say(error instanceof Refused ? error.message : "The link is down; nothing was changed.", 10);
    }
  };
  item.querySelector("[data-differ]").addEventListener("click", () => act(async () => {
    const list = document.createElement("ul");
    for (const one of await ask(address)) {
      const line = document.createElement("li");
      line.textContent = `${one.key || one.file}: ${one.old ?? "not stated"} → ${one.new ?? "not stated"}`;
      list.append(line);
    }
    if (!list.children.length) list.textContent = "Nothing: the newest revision says the same.";
    item.querySelector("[data-differs]").replaceChildren(list);
  }));
  item.querySelector("[data-take]").addEventListener("click", () => act(async () => {
    await ask(`${address}/take?based_on=${revision()}`, { method: "POST" });
    show();
  }));
  item.querySelector("[data-settle]").addEventListener("click", () => act(async () => {
    await ask(`${address}/settle`, { method: "POST" });
    show();
  }));
}
