// The slab: the picture in space, thickness against fill to pick from, files, checks.

import { Refused, ask, body, edit, job, keep, keeping, later, revision, say, show, stated, wrong } from "./bench.js";
import { QUIET, charts, colour, whenNear } from "./charts.js";

const scheme = matchMedia("(prefers-color-scheme: dark)");

// Both faces in space

const space = document.querySelector("[data-space]");
if (space) whenNear(space, () => drawSpace().catch((error) => {
  const words = space.querySelector("[data-space-words]");
  if (words) words.textContent = `The picture in space cannot be drawn here${error instanceof Refused ? `: ${error.message}` : ""}. The maps below show the same.`;
}));

const VIEWS = { start: [-24, 26], end: [-90, 12], side: [0, 10], above: [-0.01, 89] };

async function drawSpace() {
  const picture = space.querySelector("[data-space-picture]");
  const shape = await ask(space.dataset.address);
  const Plotly = await charts(space.dataset.plotly);
  const canvas = document.createElement("canvas");
  if (!canvas.getContext("webgl")) throw new Error("no WebGL");
  const plot = document.createElement("div");
  picture.replaceChildren(plot);
  let [around, up] = VIEWS.start;
  let times = Number(space.querySelector("[name=times]:checked").value);
  const flat = (rows) => rows.flat().filter((value) => value !== null);
  const low = Math.min(...flat(shape.b.height), 0);
  const high = Math.max(...flat(shape.a.height), shape.thickness);
  const [x0, x1] = [Math.min(...shape.a.x, ...shape.b.x), Math.max(...shape.a.x, ...shape.b.x)];
  const [y0, y1] = [Math.min(...shape.a.y, ...shape.b.y), Math.max(...shape.a.y, ...shape.b.y)];
  const most = Math.max(shape.most, 1e-6);
  const scale = (face) => face.map((row) => row.map((value) => (value === null ? null : Math.max(-0.12 * most, Math.min(value, most)))));
  const dip = 0.12 / 1.12;
  const steps = shape.ramp.map((tone, index) => [dip + 0.001 + (1 - dip - 0.001) * (index / (shape.ramp.length - 1)), tone]);
  const ramp = [[0, "#A3341F"], [dip, "#A3341F"], ...steps];

  const face = (name, grid) => ({
    type: "surface", name, x: grid.x, y: grid.y, z: grid.height, surfacecolor: scale(grid.above), colorscale: ramp, cmin: -0.12 * most, cmax: most,
    showscale: false, hoverinfo: "skip", lighting: { ambient: 0.75, diffuse: 0.5, specular: 0.05, roughness: 0.9 }, contours: { x: { highlight: false }, y: { highlight: false }, z: { highlight: false } },
  });
  const plane = (height) => ({
    type: "surface", x: [x0, x1], y: [y0, y1], z: [[height, height], [height, height]], showscale: false, hoverinfo: "skip", opacity: 0.35,
    colorscale: [[0, colour("blue")], [1, colour("blue")]], contours: { x: { highlight: false }, y: { highlight: false }, z: { highlight: false } },
  });
  const deciding = () => ({
    type: "scatter3d", mode: "markers", x: shape.deciding.map((one) => one[0]), y: shape.deciding.map((one) => one[1]), z: shape.deciding.map((one) => one[2]),
    marker: { symbol: "diamond", size: 6, color: colour("ink"), line: { color: colour("sheet"), width: 2 } }, hoverinfo: "skip",
  });
  const axis = (title, range) => ({
    title: { text: title }, range, color: colour("ink"), gridcolor: colour("line"), showbackground: false, zeroline: false, showspikes: false,
  });
  const narrow = picture.clientWidth < 560; // figures on the axes would stand on each other
  // The slab fills a broad picture by its length, a narrow one as far as it is wide.
  const wide = Math.min(2.7, Math.max(1.1, (1.2 * picture.clientWidth) / picture.clientHeight));
  const eye = () => {
    const far = 1.25;
    const [a, b] = [(around * Math.PI) / 180, (up * Math.PI) / 180];
    return { x: far * Math.cos(b) * Math.sin(a), y: -far * Math.cos(b) * Math.cos(a), z: far * Math.sin(b) };
  };
  const layout = () => ({
    margin: { l: 0, r: 0, t: 0, b: 0 }, paper_bgcolor: "rgba(0,0,0,0)", showlegend: false, font: { family: "Bench, sans-serif", size: 13, color: colour("ink") },
    scene: {
      xaxis: { ...axis(narrow ? "" : `x, ${shape.unit}`, [x0, x1]), nticks: narrow ? 4 : 8 }, yaxis: { ...axis(narrow ? "" : "y", [y0, y1]), nticks: 5, showticklabels: !narrow },
      zaxis: { ...axis("", [low, high]), nticks: 4, showticklabels: !narrow },
      aspectmode: "manual", aspectratio: { x: wide, y: (wide * (y1 - y0)) / (x1 - x0), z: (wide * times * (high - low)) / (x1 - x0) },
      camera: { eye: eye(), center: { x: 0, y: 0, z: -0.05 }, projection: { type: "orthographic" } }, dragmode: "turntable",
    },
  });
  const draw = () => Plotly.react(plot, [plane(0), plane(shape.thickness), face("A", shape.a), face("B", shape.b), deciding()], layout(), { ...QUIET, scrollZoom: false });
  await draw();
  plot.on("plotly_relayout", (changed) => {
    const to = changed["scene.camera"]?.eye;
    if (!to) return;
    up = (Math.atan2(to.z, Math.hypot(to.x, to.y)) * 180) / Math.PI;
    around = (Math.atan2(to.x, -to.y) * 180) / Math.PI;
  });
  space.querySelector("[data-turn]").addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    if (button.hasAttribute("data-finger")) {
      const on = picture.classList.toggle("by-finger");
      button.setAttribute("aria-pressed", String(on));
      return;
    }
    if (button.dataset.view) [around, up] = VIEWS[button.dataset.view];
    else {
      const [by, rise] = button.dataset.by.split(",").map(Number);
      around += by;
      up = Math.max(-89, Math.min(89, up + rise));
    }
    Plotly.relayout(plot, { "scene.camera": layout().scene.camera });
  });
  space.addEventListener("change", () => {
    times = Number(space.querySelector("[name=times]:checked").value);
    Plotly.relayout(plot, { "scene.aspectratio": layout().scene.aspectratio });
  });
  scheme.addEventListener("change", draw);
  space.dataset.drawn = "yes";
}

// Thickness against fill

const fill = document.querySelector("[data-fill]");
if (fill) pickFill();

function pickFill() {
  const points = JSON.parse(document.getElementById("fills").textContent);
  const taken = points.findIndex((one) => one.taken);
  const at = (selector) => fill.querySelector(selector);
  let chosen = Math.max(taken, 0);
  let redraw = () => {};
  const tell = () => {
    const one = points[chosen];
    at("[data-fill-name]").textContent = one.number ? `Fill ${one.number}: ${one.volume_shown}` : "No fill";
    for (const what of ["board", "area", "deepest", "money"]) at(`[data-fill-${what}]`).textContent = one[`${what}_shown`];
    const button = at("[data-fill-take]");
    button.disabled = chosen === taken;
    button.textContent = chosen === taken ? "Taken now" : "Take this";
    at("[data-fill-step='-1']").disabled = chosen === 0;
    at("[data-fill-step='1']").disabled = chosen === points.length - 1;
    redraw();
  };
  fill.addEventListener("click", (event) => {
    const button = event.target.closest("[data-fill-step]");
    if (!button) return;
    chosen = Math.max(0, Math.min(points.length - 1, chosen + Number(button.dataset.fillStep)));
    tell();
  });
  at("[data-fill-take]").addEventListener("click", async () => {
    try {
      await edit({ "fill.choose": points[chosen].number }, { why: points[chosen].number ? `Fill ${points[chosen].number} taken` : "No fill" });
    } catch (error) {
      say(error instanceof Refused ? error.message : "The link is down; nothing was changed.", 10);
    }
  });
  tell();
  whenNear(fill, async () => {
    const Plotly = await charts(fill.dataset.plotly);
    const plot = at("[data-chart]");
    const axis = (title) => ({ title: { text: title }, color: colour("ink"), gridcolor: colour("line"), zeroline: false, fixedrange: true });
    redraw = () => Plotly.react(plot, [
      { type: "scatter", mode: "lines+markers", x: points.map((one) => one.volume), y: points.map((one) => one.board), line: { color: colour("ink"), width: 2.5 },
        marker: { size: 11, color: colour("sheet"), line: { color: colour("ink"), width: 2 } }, hoverinfo: "skip" },
      { type: "scatter", mode: "markers", x: [points[Math.max(taken, 0)].volume], y: [points[Math.max(taken, 0)].board], marker: { size: 19, symbol: "circle", color: colour("blue") }, hoverinfo: "skip" },
      { type: "scatter", mode: "markers", x: [points[chosen].volume], y: [points[chosen].board], marker: { size: 24, symbol: "diamond-open", color: colour("stop"), line: { width: 3 } }, hoverinfo: "skip" },
    ], {
      margin: { l: 60, r: 12, t: 8, b: 50 }, paper_bgcolor: "rgba(0,0,0,0)", plot_bgcolor: "rgba(0,0,0,0)", showlegend: false, dragmode: false, hovermode: "closest", hoverdistance: 60,
      font: { family: "Bench, sans-serif", size: 15, color: colour("ink") }, xaxis: axis(`Fill, ${fill.dataset.volumeUnit}`), yaxis: axis(`Board of the readings, ${fill.dataset.unit}`),
    }, QUIET);
    await redraw();
    // The nearest point to a press anywhere on the chart: no point has to be hit.
    plot.addEventListener("click", (event) => {
      const { xaxis, yaxis } = plot._fullLayout;
      const box = plot.getBoundingClientRect();
      const away = (one) => Math.hypot(xaxis.l2p(one.volume) + xaxis._offset - (event.clientX - box.left), yaxis.l2p(one.board) + yaxis._offset - (event.clientY - box.top));
      chosen = points.reduce((best, one, index) => (away(one) < away(points[best]) ? index : best), 0);
      tell();
    });
    scheme.addEventListener("change", () => redraw());
    fill.dataset.drawn = "yes";
  });
}

// Files

const files = document.querySelector("[data-slab-files]");
files?.addEventListener("submit", async (event) => {
  event.preventDefault();
  wrong(files, "");
  const form = new FormData();
  for (const field of files.elements) {
    if (field.type === "file" && field.files.length) form.append(field.name, field.files[0]);
    else if (field.name === "units") form.append("units", field.value);
  }
  form.append("based_on", revision());
  const told = files.querySelector("[data-sending]");
  told.textContent = "Being sent and worked out.";
  body.dataset.saving = "yes";
  try {
    await ask(`/api/jobs/${job}/slab/files`, { method: "POST", form });
    show();
  } catch (error) {
    told.textContent = "";
    if (error instanceof Refused && error.status === 409) wrong(files, `Another device was quicker: revision ${error.answer.newest} is there. What you sent is kept as a draft on history.`);
    else wrong(files, error instanceof Refused ? error.message : "The link is down; send the files again when it is back.");
  } finally {
    delete body.dataset.saving;
  }
});

// A check after a cut

const check = document.querySelector("[data-check]");
if (check) {
  keeping(check);
  const send = async () => {
    wrong(check, "");
    const of = (name) => check.elements[name];
    const length = (name) => stated(of(name), of(name).value);
    const entry = { face: of("face").value, after: of("after").value, kind: of("kind").value, value: length("value") };
    const place = [length("x"), length("y")];
    if (place.some((one) => one !== null) && place.includes(null)) return wrong(check, "A place wants both x and y, or neither.");
    if (place[0] !== null) entry.at = place;
    if (entry.value === null) return wrong(check, "Type what was found.");
    try {
      await edit({ [`checks[${check.dataset.count}]`]: entry }, { why: `Face ${entry.face} after its ${entry.after}: ${entry.kind}`, reload: false });
      keep(check, {});
      show();
    } catch (error) {
      if (error instanceof Refused && error.status === 409) wrong(check, `Another device was quicker: revision ${error.answer.newest} is there. Load the page again; what you typed is kept.`);
      else if (error instanceof Refused) wrong(check, error.message);
      else later(send);
    }
  };
  check.addEventListener("submit", (event) => { event.preventDefault(); send(); });
}
