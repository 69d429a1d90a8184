// The base: what is typed is worked out at once beside the planned one; taking it is one edit.

import { Refused, ask, changes, edit, job, revision, say, stated, wrong } from "./bench.js";

/** Rows of figures, each with whether it is better or worse than as planned. */
function rows(figures) {
  return figures.map((one) => {
    const row = document.createElement("div");
    const term = document.createElement("dt");
    term.textContent = one.words;
    const told = document.createElement("dd");
    told.textContent = one.shown;
    if (one.better !== null) {
      const mark = document.createElement("span");
      mark.className = `voice ${one.better ? "go" : "care"}`;
      mark.textContent = one.better ? "better" : "worse";
      told.append(" ", mark);
    }
    row.append(term, told);
    return row;
  });
}

function problems(came) {
  const said = came.problems.filter((one) => one.severity !== "note").map((one) => [one.severity, one.voice, one.message]);
  if (came.clashes.length) said.unshift(["stop", "Stop", `In the top too near to each other: ${came.clashes.join("; ")}.`]);
  return said.map(([severity, voice, message]) => {
    const line = document.createElement("p");
    const mark = document.createElement("span");
    mark.className = `voice ${severity === "stop" ? "stop" : "care"}`;
    mark.textContent = voice;
    line.append(mark, ` ${message}`);
    return line;
  });
}

/** Asks after each change; only the newest answer counts. */
function answering(sent, show, refused) {
  let asking = 0;
  let timer = 0;
  const now = async () => {
    const number = ++asking;
    try {
      const came = await ask(`/api/jobs/${job}/base/try`, { method: "POST", json: { revision: revision(), ...sent() } });
      if (number === asking) show(came);
    } catch (error) {
      if (number === asking) refused(error instanceof Refused ? error.message : "The link is down: this cannot be worked out now.");
    }
  };
  return { now, soon: () => { clearTimeout(timer); timer = setTimeout(now, 120); } };
}

// Columns side by side

for (const form of document.querySelectorAll("form[data-column]")) {
  let taken = null;
  const take = form.querySelector("button");
  const typed = () => Object.fromEntries([...form.elements].filter((one) => one.name).map((one) => [one.name, one.value]));
  const { now, soon } = answering(typed, (came) => {
    wrong(form, "");
    taken = came.values;
    take.disabled = !Object.keys(taken).length;
    form.querySelector("[data-told]").replaceChildren(...rows(came.figures));
    form.querySelector("[data-problems]").replaceChildren(...problems(came));
  }, (words) => {
    taken = null;
    take.disabled = true;
    wrong(form, words);
  });
  form.addEventListener("input", () => { take.disabled = true; soon(); });
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (!taken) return;
    take.disabled = true;
    try {
      await edit(taken, { why: `base ${form.dataset.column} taken` });
    } catch (error) {
      take.disabled = false;
      if (error instanceof Refused) wrong(form, error.message);
      else say("The link is down; nothing was changed.", 10);
    }
  });
  now();
}

// The form of the picture and the sizes

const own = document.querySelector("form[data-base]");
const live = own?.querySelector("[data-live]");
if (own && document.querySelector("form[data-column], .views")) {
  const values = () => {
    const found = {};
    for (const [name, value] of Object.entries(changes(own))) {
      const field = own.elements[name];
      found[name] = stated(field instanceof RadioNodeList ? field[0] : field, value);
    }
    return found;
  };
  const { soon } = answering(() => ({ values: values() }), (came) => {
    wrong(own, "");
    const list = document.createElement("dl");
    list.append(...rows(came.figures));
    live.replaceChildren(list, ...problems(came));
    live.hidden = false;
  }, (words) => { live.hidden = true; wrong(own, words); });
  const typed = () => { if (Object.keys(values()).length) soon(); else { live.hidden = true; wrong(own, ""); } };
  own.addEventListener("input", typed);
  own.addEventListener("reset", () => setTimeout(typed));
  typed();
}
