// The base: what is typed is worked out at once beside the planned one; taking it is one edit.

import { Refused, answered, ask, awaited, changes, edit, job, revision, say, stated, wrong } from "./bench.js";

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
      if (number !== asking) return;
      refused(error instanceof Refused ? error.message : "The link is down: this cannot be worked out now.");
    }
  };
  // What was asked before is no answer to what is typed now.
  return { now, soon: () => { asking += 1; clearTimeout(timer); timer = setTimeout(now, 120); } };
}

// Columns side by side

for (const form of document.querySelectorAll("form[data-column]")) {
  let taken = null;
  const take = form.querySelector("button");
  const told = form.querySelector("[data-told]");
  const found = form.querySelector("[data-problems]");
  const state = form.querySelector("[data-state]");
  const fields = [...form.elements].filter((one) => one.name);
  // What is typed here, or is another than as planned, is wanted so; the rest follows it.
  const own = new Set(fields.filter((one) => one.value !== one.dataset.here).map((one) => one.name));
  const typed = () => Object.fromEntries(fields.map((one) => [one.name, own.has(one.name) ? one.value : ""]));
  const { now, soon } = answering(typed, (came) => {
    wrong(form, "");
    answered([told, found]);
    state.textContent = "";
    taken = came.values;
    take.disabled = !Object.keys(taken).length;
    told.replaceChildren(...rows(came.figures));
    found.replaceChildren(...problems(came));
    for (const field of fields) {
      const follows = !own.has(field.name);
      const used = came.made_of[field.name];
      if (follows && field !== document.activeElement) field.value = used;
      document.getElementById(field.getAttribute("aria-describedby")).textContent = follows && used !== field.dataset.here ? `follows: ${used}` : "";
    }
  }, (words) => {
    taken = null;
    take.disabled = true;
    state.textContent = "";
    told.replaceChildren();
    found.replaceChildren();
    wrong(form, words);
  });
  form.addEventListener("input", (event) => {
    take.disabled = true;
    if (event.target.value.trim()) own.add(event.target.name); else own.delete(event.target.name);
    awaited([told, found]);
    state.textContent = "Working";
    soon();
  });
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
    answered([live]);
    const list = document.createElement("dl");
    list.append(...rows(came.figures));
    live.replaceChildren(list, ...problems(came));
    live.hidden = false;
  }, (words) => { live.hidden = true; wrong(own, words); });
  const typed = () => {
    awaited([live]);
    if (Object.keys(values()).length) return soon();
    live.hidden = true;
    wrong(own, "");
  };
  own.addEventListener("input", typed);
  own.addEventListener("reset", () => setTimeout(typed));
  typed();
}
