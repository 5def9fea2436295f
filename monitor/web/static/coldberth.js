// Keeps a page up to date; charts.js draws its charts. Every page reads without it.

const page = document.body.dataset;
const QUIET = 5;
const SOON = 1;
const FETCH_EVERY_MS = 2000;
const SLOW_MS = 60000;
const DEAD_AFTER_MS = 35000;
const ASK_AT_MOST = 80;

const byId = (id) => document.getElementById(id);
let since = page.seq === undefined ? null : Number(page.seq);
let clockText = byId("clock").textContent;

// ---- Putting fresh parts in place --------------------------------------------------------------------------------

async function fetched(address) {
  const answer = await fetch(address, { headers: { Accept: "text/html" } });
  if (!answer.ok) throw new Error(address + ": " + answer.status);
  return new DOMParser().parseFromString(await answer.text(), "text/html");
}

// A part in which somebody is writing, or has the keyboard, is left alone until they are done.
function isInUse(part) {
  const typed = [...part.querySelectorAll("input")].some((field) => field.value !== field.defaultValue && field.dataset.remembered === undefined);
  const chosen = [...part.querySelectorAll("select")].some((field) => field.selectedIndex > 0); // none of ours begins otherwise
  const writing = typed || chosen;
  return writing || (part.contains(document.activeElement) && part !== document.activeElement);
}

function putParts(fresh) {
  let all = true;
  for (const part of document.querySelectorAll("[data-live]")) {
    const other = fresh.getElementById(part.id);
    if (other === null || part.isEqualNode(other)) continue;
    if (isInUse(part)) {
      all = false;
      continue;
    }
    if (putChangedRows(part, other)) continue;
    const open = new Set([...part.querySelectorAll("details[open]")].map(nameOf));
    part.replaceWith(other);
    for (const details of other.querySelectorAll("details")) if (open.has(nameOf(details))) details.open = true;
  }
  remember();
  return all;
}

const nameOf = (details) => details.closest("[id]").id + details.firstElementChild.textContent;

function showClock(text) {
  clockText = text;
  byId("clock").textContent = text;
}

// ---- The yard page -----------------------------------------------------------------------------------------------

function putRow(list, old, fresh) {
  const rank = Number(fresh.dataset.rank);
  if (old === undefined && rank === QUIET) return;
  if (rank <= SOON && (old === undefined || rank < Number(old.dataset.rank))) {
    byId("announce").textContent = fresh.textContent.replace(/\s+/g, " ").trim();
  }
  if (old !== undefined && old.dataset.order === fresh.dataset.order) {
    const focused = old.contains(document.activeElement);
    old.replaceWith(fresh);
    if (focused) fresh.querySelector("a").focus();
    return;
  }
  const focused = old !== undefined && old.contains(document.activeElement);
  if (old !== undefined) old.remove();
  const next = [...list.children].find((row) => row.dataset.order > fresh.dataset.order);
  list.insertBefore(fresh, next === undefined ? null : next);
  if (focused) fresh.querySelector("a").focus({ preventScroll: true });
}

// Of a list of thousands mostly some rows have changed: those alone are put in place. Says whether that was all of it.
function putChangedRows(part, fresh) {
  const list = part.querySelector("#vessels");
  const freshList = fresh.querySelector("#vessels");
  if (list === null || freshList === null) return false;
  const known = new Map([...list.children].map((row) => [row.dataset.vessel, row]));
  const rows = [...freshList.children].map((row) => {
    const old = known.get(row.dataset.vessel);
    known.delete(row.dataset.vessel);
    if (old === undefined || old.isEqualNode(row)) return old ?? row;
    old.replaceWith(row);
    return row;
  });
  for (const gone of known.values()) gone.remove();
  let place = list.firstElementChild;
  for (const row of rows) {
    // One that has gone further down is taken out, and put in again where its turn comes.
    if (place !== null && row !== place && place.nextElementSibling === row) place.remove();
    else if (row !== place) list.insertBefore(row, place);
    place = row.nextElementSibling;
  }
  const [rest, freshRest] = [part.querySelector(".rest"), fresh.querySelector(".rest")];
  if (rest !== null) rest.remove();
  if (freshRest !== null) part.append(freshRest);
  return true;
}

async function freshRows(ids) {
  const asked = new URLSearchParams(location.search);
  const query = new URLSearchParams({ ids: ids.join(",") });
  for (const name of ["q", "state", "area", "who"]) if (asked.has(name)) query.set(name, asked.get(name));
  const fresh = await fetched("/rows?" + query);
  const list = byId("vessels");
  const rows = new Map([...fresh.querySelectorAll("li[data-vessel]")].map((row) => [row.dataset.vessel, row]));
  const known = new Map([...list.children].map((row) => [row.dataset.vessel, row]));
  for (const id of ids) {
    if (rows.has(id)) putRow(list, known.get(id), rows.get(id));
    else known.get(id)?.remove();
  }
  for (const id of ["troubles", "calls", "counts", "since-head", "since"]) {
    const [part, other] = [byId(id), fresh.getElementById(id)];
    if (part !== null && other !== null && !part.contains(document.activeElement)) part.innerHTML = other.innerHTML;
  }
  document.title = fresh.title;
  showClock(fresh.getElementById("clock").textContent);
}

// ---- Fetching, no more often than it is worth ----------------------------------------------------------------------

const waiting = new Set();
let wantsAll = false;
let timer = 0;
let busy = false;

function want(message) {
  const concerns = page.page !== "vessel" || message.everything || message.vessels.includes(page.vessel);
  if (!concerns || page.page === undefined) return;
  if (message.everything) wantsAll = true;
  for (const id of message.vessels) waiting.add(id);
  if (timer === 0) timer = setTimeout(flush, busy ? FETCH_EVERY_MS : 50);
}

async function flush() {
  if (busy) {
    timer = setTimeout(flush, FETCH_EVERY_MS);
    return;
  }
  busy = true;
  timer = 0;
  const ids = [...waiting];
  const whole = wantsAll || page.page === "vessel" || ids.length > ASK_AT_MOST || byId("vessels") === null;
  waiting.clear();
  wantsAll = false;
  try {
    if (whole) await freshPage();
    else await freshRows(ids);
  } catch {
    wantsAll = true; // the watchman below says so where it lasts, and fetches slowly
  }
  setTimeout(() => {
    busy = false;
    if ((waiting.size > 0 || wantsAll) && timer === 0 && !document.hidden && isUp) timer = setTimeout(flush, 0);
  }, FETCH_EVERY_MS);
}

async function freshPage() {
  const fresh = await fetched(location.href);
  if ((fresh.getElementById("vessels") === null) !== (byId("vessels") === null)) {
    location.reload(); // the first vessel has come, or what was searched for has gone
    return;
  }
  document.title = fresh.title;
  if (fresh.body.dataset.seq !== undefined) since = Math.max(since, Number(fresh.body.dataset.seq));
  if (!putParts(fresh)) wantsAll = true;
  showClock(fresh.getElementById("clock").textContent);
  document.dispatchEvent(new Event("coldberth:fresh")); // charts.js draws anew
}

// ---- The live line -------------------------------------------------------------------------------------------------

let heardAt = performance.now();
let isUp = true;
let deadSince = null;
let slowAt = 0;

function take(message) {
  if (message.kind === "down") {
    isUp = false;
    return;
  }
  heardAt = performance.now();
  isUp = true;
  if (message.kind === "clock") showClock(message.clock);
  if (message.kind === "changed") {
    if (message.seq !== undefined) since = Math.max(since, message.seq);
    if (message.clock !== undefined) showClock(message.clock);
    want(message);
  }
  if (deadSince !== null) {
    deadSince = null;
    byId("line").hidden = true;
    want({ everything: true, vessels: [] });
  }
}

// Says when the line is dead, and fetches slowly meanwhile: a page that stands still must not look alive.
async function watchman() {
  if (document.hidden) return;
  const silence = performance.now() - heardAt;
  if (deadSince === null && (silence > DEAD_AFTER_MS || (!isUp && silence > 6000))) {
    deadSince = clockText.split(", ").pop();
    slowAt = performance.now();
    sayDead("");
  }
  if (deadSince !== null && performance.now() - slowAt > SLOW_MS) {
    slowAt = performance.now();
    try {
      await freshPage();
      if (deadSince !== null) sayDead(" Fetched slowly, last at " + clockText.split(", ").pop() + ".");
    } catch {
      if (deadSince !== null) sayDead(" The server does not answer: go by nothing on this page but its time.");
    }
  }
}

function sayDead(more) {
  byId("line").textContent = "Not updating since " + deadSince + "." + more;
  byId("line").hidden = false;
}

async function startListening() {
  const address = page.listener;
  const inView = () => !document.hidden;
  let stop;
  let start;
  if (typeof SharedWorker !== "undefined") {
    const port = new SharedWorker(address, { type: "module", name: "coldberth" }).port;
    port.onmessage = ({ data }) => take(data);
    start = () => port.postMessage({ kind: "view", inView: true, since });
    stop = () => port.postMessage({ kind: "view", inView: false, since });
    addEventListener("pagehide", () => port.postMessage({ kind: "bye" }));
    addEventListener("pageshow", (event) => event.persisted && start());
  } else {
    const { listen } = await import(address);
    let line = null;
    start = () => (line ??= listen(take, since));
    stop = () => {
      line?.close();
      line = null;
    };
    addEventListener("pagehide", stop);
  }
  document.addEventListener("visibilitychange", () => {
    if (inView()) {
      heardAt = performance.now();
      start();
    } else stop();
  });
  if (inView()) start();
  setInterval(watchman, 2000);
}

// ---- Small comforts --------------------------------------------------------------------------------------------------

// Who writes an acknowledgement on this machine is mostly who wrote the last one.
function remember() {
  for (const field of document.querySelectorAll(".seen-form input[name=name], .act-form input[name=name], .job-by input")) {
    if (field.value === "") {
      field.value = localStorage.getItem("name") ?? "";
      field.dataset.remembered = "";
    }
    if (field.dataset.known !== undefined) continue;
    field.dataset.known = "";
    field.addEventListener("input", () => delete field.dataset.remembered);
    field.form.addEventListener("submit", () => localStorage.setItem("name", field.value));
  }
}

// The menu's fold closes as a menu does; what is not narrowed to is left out of an address.
const more = document.querySelector(".more-pages");
addEventListener("click", (event) => more !== null && !more.contains(event.target) && (more.open = false));
addEventListener("keydown", (event) => {
  if (event.key !== "Escape" || more === null || !more.open) return;
  more.open = false;
  more.firstElementChild.focus();
});
document.querySelector("form.search")?.addEventListener("formdata", ({ formData }) => {
  for (const [name, value] of [...formData]) if (value === "") formData.delete(name);
});

remember();
if (page.seq !== undefined) startListening();

// ---- An id that is made of a name is shown while the name is typed --------------------------------------------------

for (const field of document.querySelectorAll("input[data-made-of]")) {
  const named = document.getElementById(field.dataset.madeOf);
  const show = () => {
    const plain = named.value.toLowerCase().normalize("NFKD").replace(/[^ -~]/g, "");
    field.placeholder = plain.replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "").slice(0, 48);
  };
  named.addEventListener("input", show);
  show();
}
