// What somebody types is kept on their telephone until it has been taken: down between the boats there often is no
// connection. Works over plain http, where no service worker may run; without JavaScript forms are as they always were.

const KEPT_DAYS = 14;
const ANSWERS_WITHIN_MS = 5000;
const SENT = "sent-form";
const PREFIX = "kept-form ";
const SAVE_AFTER_MS = 300;

// ---- What is kept ------------------------------------------------------------------------------------------------

const isKept = (field) => field.name !== "" && !["hidden", "file", "password", "submit", "button", "image", "reset"].includes(field.type);
// What stood there when the form was shown goes with what was typed: sent with what stands there by then, it would be
// put over what somebody else has changed meanwhile, and nobody would be asked.
const SHOWN = ["version", "seen"];
const isShown = (field) => field.type === "hidden" && SHOWN.includes(field.name);
const shownOf = (form) => [...form.elements].filter(isShown);
const asShown = (form) => shownOf(form).map((field) => [field.name, field.value]);
const fieldsOf = (form) => [...form.elements].filter(isKept);
const isSecret = (form) => form.querySelector("input[type=password]") !== null;
// A part that lives is replaced by a fresh one: what is typed there is guarded otherwise, and stays while one writes.
const keeps = (form) => fieldsOf(form).length > 0 && form.closest("[data-live]") === null;

const addressOf = (form) => new URL(form.getAttribute("action") ?? "", location.href).pathname;

// Forms of one page may go to the same address: what each is about, such as a sensor, stands in it unseen.
const aboutOf = (form) =>
  JSON.stringify([...form.elements].filter((field) => field.type === "hidden" && !isShown(field)).map((field) => [field.name, field.value]));

function keyOf(form) {
  const [action, about] = [addressOf(form), aboutOf(form)];
  const same = forms().filter((other) => addressOf(other) === action && aboutOf(other) === about);
  return PREFIX + [document.body.dataset.who ?? "", action, about, same.indexOf(form)].join(" ");
}

function forms() {
  return [...document.querySelectorAll("form[method=post]")].filter((form) => !isSecret(form));
}

const valueOf = (field) => (["checkbox", "radio"].includes(field.type) ? field.checked : field.value);
const stateOf = (form) => fieldsOf(form).map((field) => [field.name, ["checkbox", "radio"].includes(field.type) ? field.value : "", valueOf(field)]);

function read(key) {
  try {
    return JSON.parse(localStorage.getItem(key));
  } catch {
    return null; // something else wrote there, or the browser keeps nothing for us
  }
}

// Says whether it could be kept: a browser may be told to keep nothing, or be full.
function keep(form) {
  try {
    localStorage.setItem(keyOf(form), JSON.stringify({ at: Date.now(), fields: stateOf(form), shown: asShown(form) }));
    return true;
  } catch {
    return false;
  }
}

function forget(key) {
  try {
    localStorage.removeItem(key);
  } catch {
    // what cannot be reached holds nothing of ours
  }
}

function sweep() {
  try {
    for (const key of Object.keys(localStorage)) {
      if (key.startsWith(PREFIX) && !(Date.now() - (read(key)?.at ?? 0) < KEPT_DAYS * 86_400_000)) forget(key);
    }
  } catch {
    // nothing is kept here
  }
}

function showAs(form, shown) {
  for (const [name, value] of shown) for (const field of shownOf(form)) if (field.name === name) field.value = value;
}

function putBack(form, { fields, shown }) {
  showAs(form, shown ?? []);
  const seen = new Map();
  const kept = new Map();
  const numbered = (map, name, value) => {
    const key = name + "\0" + value;
    map.set(key, (map.get(key) ?? 0) + 1);
    return key + "\0" + map.get(key);
  };
  for (const [name, value, state] of fields) kept.set(numbered(seen, name, value), state);
  seen.clear();
  for (const field of fieldsOf(form)) {
    const isTick = ["checkbox", "radio"].includes(field.type);
    const key = numbered(seen, field.name, isTick ? field.value : "");
    if (!kept.has(key)) continue;
    if (isTick) field.checked = kept.get(key);
    else field.value = kept.get(key);
    for (let fold = field.closest("details"); fold !== null; fold = fold.parentElement.closest("details")) {
      if (valueOf(field) !== (isTick ? field.defaultChecked : field.defaultValue ?? "")) fold.open = true;
    }
  }
}

// ---- What is said ------------------------------------------------------------------------------------------------

function say(form, words, buttons, where) {
  form.querySelector(".kept-form")?.remove();
  const box = document.createElement("div");
  box.className = "kept-form";
  box.setAttribute("role", "alert");
  box.append(Object.assign(document.createElement("p"), { textContent: words }));
  const row = document.createElement("p");
  for (const [text, act] of buttons) {
    const button = Object.assign(document.createElement("button"), { type: "button", textContent: text });
    button.addEventListener("click", act);
    row.append(button);
  }
  box.append(row);
  form[where](box);
  if (where === "append") box.scrollIntoView({ block: "nearest" });
}

function sayNotSent(form, submitter, isKeptHere) {
  const again = ["Try again", () => send(form, submitter)];
  const words = keeps(form)
    ? isKeptHere
      ? "Not sent: no connection. It is kept on this phone; send it when you are ashore."
      : "Not sent: no connection. This browser keeps nothing: stay on this page until it is sent."
    : "Not sent: no connection. Nothing was changed.";
  const photos = [...form.elements].some((field) => field.type === "file" && field.files.length > 0);
  say(form, words + (photos ? " Photos are not kept: choose them again if you leave this page." : ""), [again], "append");
}

function sayPutBack(form, at, key, fresh) {
  const when = new Date(at).toLocaleString("en-GB", { weekday: "short", hour: "2-digit", minute: "2-digit" });
  const drop = () => {
    forget(key);
    form.reset();
    showAs(form, fresh); // a reset leaves what is unseen as it is
    form.querySelector(".kept-form").remove();
  };
  const words = "Not sent yet: what you typed here on " + when + " by this phone's clock was kept on it. Look it over, then send it.";
  say(form, words, [["Throw it away", drop]], "prepend");
}

// ---- Sending -----------------------------------------------------------------------------------------------------

async function isReached() {
  try {
    await fetch("/healthz", { cache: "no-store", signal: AbortSignal.timeout(ANSWERS_WITHIN_MS) });
    return true; // whatever it says of itself, it answers
  } catch {
    return false;
  }
}

// The browser would leave the page, and what was typed with it, for one of its own: so it is asked first who answers.
async function send(form, submitter) {
  if (form.dataset.asking !== undefined) return;
  form.dataset.asking = "";
  const isKeptHere = keeps(form) && keep(form);
  const reached = await isReached();
  delete form.dataset.asking;
  if (!reached) {
    sayNotSent(form, submitter, isKeptHere);
    return;
  }
  form.querySelector(".kept-form")?.remove();
  try {
    if (keeps(form)) sessionStorage.setItem(SENT, keyOf(form));
  } catch {
    // then it is offered once more, which harms nobody
  }
  form.dataset.goes = "";
  form.requestSubmit(submitter);
}

addEventListener("submit", (event) => {
  const form = event.target;
  if (event.defaultPrevented || form.method !== "post" || isSecret(form)) return;
  if (form.dataset.goes !== undefined) {
    delete form.dataset.goes;
    return;
  }
  event.preventDefault();
  send(form, event.submitter);
});

// ---- A page has come ---------------------------------------------------------------------------------------------

// What was sent has been taken where an answer came to it, and the answer is no refusal.
function settle() {
  const [shown] = performance.getEntriesByType("navigation");
  const refused = shown.responseStatus >= 400 || document.body.dataset.refused !== undefined || document.querySelector(".wrongs, [aria-invalid=true]") !== null;
  let sent = null;
  try {
    sent = sessionStorage.getItem(SENT);
    sessionStorage.removeItem(SENT);
  } catch {
    // then nothing is known to have been sent
  }
  const answered = sent !== null && shown.type !== "back_forward" && document.referrer !== "";
  if (answered && !refused) forget(sent);
  return answered && refused;
}

sweep();
const cameBack = settle();
for (const form of forms()) {
  if (!keeps(form)) continue;
  const key = keyOf(form);
  const kept = read(key);
  const fresh = JSON.stringify(stateOf(form));
  if (kept !== null && !cameBack && JSON.stringify(kept.fields) !== fresh) {
    const shown = asShown(form);
    putBack(form, kept);
    sayPutBack(form, kept.at, key, shown);
  }
  let timer = 0;
  const save = () => {
    clearTimeout(timer);
    timer = 0;
    keep(form);
  };
  form.addEventListener("input", () => (timer = timer || setTimeout(save, SAVE_AFTER_MS)));
  addEventListener("pagehide", () => timer !== 0 && save());
}
