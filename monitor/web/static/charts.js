// Draws a page's charts, on one time axis: one moment is read in all of them, and a span of it is seen closer.
// Every page reads without it: the sentences beside the charts say what they show, and links go through time.

const page = document.body.dataset;
const CHARTS_EVERY_MS = 8000;
const KEY_STEPS = 96; // of the axis: half an hour of two days
const DRAG_LEAST_PX = 12;
const SHORTEST_MS = 3600000;
const MINUS = "\u2212";

const byId = (id) => document.getElementById(id);
const dark = matchMedia("(prefers-color-scheme: dark)");
const drawn = new Map(); // place -> {view, lines, marks, unit, digits}
const moment = new Intl.DateTimeFormat("en-GB", {
  timeZone: "UTC", // chart times are the yard's wall times, written as if they were UTC
  weekday: "short",
  day: "numeric",
  month: "short",
  hour: "2-digit",
  minute: "2-digit",
});
let drawnAt = 0;
let drawTimer = 0;
let embed = null;
let asked = 0;
let at = null; // the moment that is pointed at
let anchor = null; // where a span that is being chosen began

// ---- Drawing -------------------------------------------------------------------------------------------------------

async function draw() {
  drawTimer = 0;
  drawnAt = performance.now();
  if (document.querySelector("[data-chart]") === null) return;
  const turn = ++asked;
  const answer = await fetch(page.charts + "&ground=" + (dark.matches ? "dark" : "light") + "&columns=" + (innerWidth < 560 ? 2 : 0));
  if (!answer.ok) return;
  const charts = await answer.json();
  if (embed === null) {
    await import(page.bundle);
    embed = window.vegaEmbed;
  }
  for (const place of document.querySelectorAll("[data-chart]")) {
    const chart = charts[place.dataset.chart];
    if (chart === undefined || turn !== asked) continue;
    // ast: expressions are walked and not compiled, as the page's policy asks. The other two would write style elements.
    const options = { ast: true, actions: false, renderer: "svg", defaultStyle: false, tooltip: false };
    const { view } = await embed(place, chart.spec, options);
    drawn.set(place, { view, lines: linesOf(chart.spec), marks: chart.marks ?? [], unit: chart.unit, digits: chart.digits });
    place.append(made("span", "cursor"), made("span", "chosen"));
    if (place.dataset.pointed === undefined) listenTo(place);
    const says = byId("says-" + place.dataset.chart);
    says.replaceChildren(...chart.sentences.map((text) => Object.assign(document.createElement("p"), { textContent: text })));
  }
  for (const place of drawn.keys()) if (!place.isConnected) drawn.delete(place);
  show();
  document.body.dataset.drawn = String(Number(document.body.dataset.drawn ?? 0) + 1);
}

function made(name, className) {
  return Object.assign(document.createElement(name), { className, hidden: true });
}

function linesOf(spec) {
  const lines = new Map();
  for (const layer of spec.layer) {
    if (layer.mark.type !== "line") continue;
    for (const row of layer.data.values) {
      if (row.s === undefined) continue; // the edge of a band
      if (!lines.has(row.s)) lines.set(row.s, []);
      lines.get(row.s).push(row);
    }
  }
  return lines;
}

function drawSoon() {
  if (drawTimer === 0) drawTimer = setTimeout(draw, Math.max(0, drawnAt + CHARTS_EVERY_MS - performance.now()));
}

// ---- One moment, read in all charts at once --------------------------------------------------------------------------

function domain() {
  for (const chart of drawn.values()) return chart.view.scale("x").domain().map(Number);
  return null;
}

function pointedAt(place, clientX) {
  const { view } = drawn.get(place);
  const time = view.scale("x").invert(clientX - place.querySelector("svg").getBoundingClientRect().left - view.origin()[0]);
  const [from, to] = domain();
  return Math.min(Math.max(Number(time), from), to);
}

function show() {
  for (const [place, chart] of drawn) {
    const [cursor, chosen] = [place.querySelector(".cursor"), place.querySelector(".chosen")];
    const reads = byId("reads-" + place.dataset.chart);
    cursor.hidden = at === null;
    chosen.hidden = at === null || anchor === null;
    if (at === null) {
      reads.textContent = "";
      continue;
    }
    const [scale, left] = [chart.view.scale("x"), chart.view.origin()[0]];
    cursor.style.left = left + scale(at) + "px";
    if (anchor !== null) {
      chosen.style.left = left + scale(Math.min(at, anchor)) + "px";
      chosen.style.width = scale(Math.max(at, anchor)) - scale(Math.min(at, anchor)) + "px";
    }
    reads.textContent = readAt(chart);
  }
}

function readAt(chart) {
  const read = [...chart.lines].map(([name, rows]) => nearest(name, rows, chart)).filter((text) => text !== "");
  const [from, to] = domain();
  const near = chart.marks.filter((mark) => Math.abs(mark.t - at) < (to - from) / 80).map((mark) => mark.s);
  const time = anchor === null ? moment.format(at) : moment.format(Math.min(at, anchor)) + " to " + moment.format(Math.max(at, anchor));
  return [time, ...read, ...near].join(" \u00b7 ");
}

function nearest(name, rows, chart) {
  let best = null;
  for (const row of rows) if (best === null || Math.abs(row.t - at) < Math.abs(best.t - at)) best = row;
  const apart = rows.length > 1 ? (rows[rows.length - 1].t - rows[0].t) / (rows.length - 1) : Infinity;
  if (best === null || best.v === null || Math.abs(best.t - at) > 2 * apart) {
    return name.endsWith(", foretold") || isToCome(chart) ? "" : name + ": nothing heard";
  }
  return name + " " + best.v.toFixed(chart.digits).replace("-", MINUS) + " " + chart.unit;
}

// What is still to come cannot have been heard.
function isToCome(chart) {
  let newest = -Infinity;
  for (const [name, rows] of chart.lines) if (!name.endsWith(", foretold")) newest = Math.max(newest, rows.at(-1)?.t ?? newest);
  return page.now !== undefined && at > Math.max(Number(page.now), newest);
}

// To who does not see the charts.
function say(text) {
  const aloud = byId("read-aloud");
  if (aloud !== null) aloud.textContent = text;
}

function letGo() {
  at = anchor = null;
  show();
}

// ---- Pointing and dragging -------------------------------------------------------------------------------------------

let downX = null;

function listenTo(place) {
  place.dataset.pointed = "";
  place.addEventListener("pointermove", (event) => {
    if (!drawn.has(place)) return;
    if (downX !== null && anchor === null && zoomedOn() !== undefined && Math.abs(event.clientX - downX) >= DRAG_LEAST_PX) anchor = pointedAt(place, downX);
    at = pointedAt(place, event.clientX);
    show();
  });
  place.addEventListener("pointerdown", (event) => {
    if (!drawn.has(place) || event.button !== 0) return;
    at = pointedAt(place, event.clientX);
    anchor = null;
    if (event.pointerType !== "touch") { // a finger scrolls; it zooms by the buttons
      downX = event.clientX;
      place.setPointerCapture(event.pointerId);
      event.preventDefault();
    }
    show();
  });
  place.addEventListener("pointerup", () => {
    downX = null;
    if (anchor !== null) lookCloser();
  });
  place.addEventListener("pointercancel", () => {
    downX = null;
    letGo();
  });
  place.addEventListener("pointerleave", (event) => {
    if (downX === null && event.pointerType !== "touch") letGo(); // what a finger tapped stays read
  });
}

// ---- By keyboard -----------------------------------------------------------------------------------------------------

function onKey(event) {
  const ends = domain();
  if (ends === null || event.target.closest("a, button, input, summary") !== null) return;
  if (event.altKey || event.ctrlKey || event.metaKey) return;
  const [from, to] = ends;
  const step = (to - from) / KEY_STEPS;
  const moves = { ArrowLeft: (at ?? to) - step, ArrowRight: (at ?? from - step) + step, Home: from, End: to };
  if (event.key in moves) {
    if (!event.shiftKey) anchor = null;
    else if (at !== null && zoomedOn() !== undefined) anchor ??= at;
    at = Math.min(Math.max(moves[event.key], from), to);
    show();
    const read = [...drawn.values()].map(readAt);
    say(read.map((text, n) => (n === 0 ? text : text.split(" \u00b7 ").slice(1).join(", "))).join("; "));
  } else if (event.key === "Enter" && anchor !== null) lookCloser();
  else if (event.key === "+" || event.key === "=") document.querySelector('#charts a[data-zoom="in"]')?.click();
  else if (event.key === "-") document.querySelector('#charts a[data-zoom="out"]')?.click();
  else if (event.key === "Escape" && at !== null) letGo();
  else return;
  event.preventDefault();
}

// ---- Going through time: the address carries the span, and the page is not loaded anew --------------------------------

const written = (time) => new Date(Math.round(time / 60000) * 60000).toISOString().slice(0, 16);

function lookCloser() {
  let [from, to] = [Math.min(at, anchor), Math.max(at, anchor)];
  const [, end] = domain();
  if (to - from < SHORTEST_MS) [from, to] = [(from + to - SHORTEST_MS) / 2, (from + to + SHORTEST_MS) / 2];
  if (to > end) [from, to] = [from - (to - end), end];
  goTo(spanAddress(from, to));
}

// Where a span is shown: on the vessel's page. A page whose charts are not zoomed names none.
const zoomedOn = () => byId("charts")?.dataset.zoomed;
const spanAddress = (from, to) => zoomedOn() + "?from=" + written(from) + "&to=" + written(to) + "#charts";

// About the moment that is pointed at, where there is one.
function closer(link) {
  if (at === null || link.dataset.zoom !== "in") return link.href;
  const [from, to] = domain();
  const half = Math.max((to - from) / 4, SHORTEST_MS / 2);
  const middle = Math.min(Math.max(at, from + half), to - half);
  return spanAddress(middle - half, middle + half);
}

async function goTo(address, { isBack = false } = {}) {
  at = anchor = null;
  if (zoomedOn() !== location.pathname) {
    location.assign(address);
    return;
  }
  let fresh = null;
  try {
    const answer = await fetch(address, { headers: { Accept: "text/html" } });
    if (answer.ok) fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  } catch {
    fresh = null; // the browser says what is wrong better than we could
  }
  const other = fresh?.getElementById("charts");
  if (other == null) {
    location.assign(address);
    return;
  }
  if (!isBack) history.pushState(null, "", address);
  const focused = document.activeElement;
  const again = focused?.dataset?.zoom ?? null;
  const inCharts = focused?.classList.contains("figures");
  const words = again === null && byId("charts").contains(focused) ? focused.textContent : null;
  page.charts = fresh.body.dataset.charts;
  page.now = fresh.body.dataset.now;
  byId("charts").replaceWith(other);
  other.querySelector(".figures")?.addEventListener("keydown", onKey);
  const links = [...other.querySelectorAll("nav a, nav .button")];
  const next = inCharts ? other.querySelector(".figures") : links.find((a) => (again === null ? a.textContent === words : a.dataset.zoom === again));
  (next ?? (again === null && words === null ? null : links[0]))?.focus({ preventScroll: true });
  say(other.querySelector(".shown-span").textContent);
  await draw();
}

addEventListener("click", (event) => {
  const link = event.target.closest("#charts nav a");
  if (link === null || event.button !== 0 || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  goTo(closer(link));
});
if (page.charts !== undefined) {
  addEventListener("popstate", () => zoomedOn() === location.pathname && goTo(location.href, { isBack: true }));
  document.querySelector(".figures")?.addEventListener("keydown", onKey);
  document.addEventListener("coldberth:fresh", drawSoon);
  dark.addEventListener("change", draw);
  draw();
}
