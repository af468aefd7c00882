// The bench: it always listens, says at once what a scan means, and sends it on.

import { Camera, isAllowed } from "./camera.js";
import { Queue } from "./queue.js";
import { token } from "./sending.js";
import { deviceId, keep, kept, renumber } from "./store.js";
import { sound, wake } from "./tones.js";
import { Twin } from "./twin.js";
import { showUnsent } from "./unsent.js";
import { Waiting } from "./waiting.js";
import { character, Wedge } from "./wedge.js";

const at = (id) => document.getElementById(id);
const root = at("bench");
const field = at("scan");
const wedge = new Wedge();
const MARKS = { taken: "✓", stop: "✗✗", neutral: "·" };
const WORDS = { taken: "Taken.", stop: "Stop.", neutral: "" };
const AFTER_SCAN_MS = 800;
const DOUBLE_MS = 500;
const DIGITS = 7;
const LONG = 90;
const REFRESH_MS = 120000;

let keyed = "";
let lastScanAt = 0;
let lastPress = { button: null, at: 0 };
let twin = null;
let view = null;
let shopAt = 0;
const told = new Map();

const queue = new Queue({
  answer(row, body) {
    const here = told.get(row.id);
    told.delete(row.id);
    if (row.loaded) return loadedCame(row, body);
    if (body.renumber) return numberAnew();
    learn(body.bench);
    // What the device said already is not said again; what only the record knows is.
    const same = here && here.tone === body.tone && here.kind === body.kind && here.loud === body.loud;
    if (same && !queue.rows.length) words(body.tone, body.sentence, body.loud);
    if (!same && body.tone === "stop" && here) waiting.needs(row, body.sentence);
    if (!same) say(body.tone, body.sentence, body.loud, body.data);
    else sound("tick");
  },
  refused(row, sentence) {
    say("stop", sentence, true);
  },
  signedOut() {
    say("stop", "You are signed out: sign in on another page. Nothing is lost.", true);
  },
  change(now) {
    showUnsent(now.rows.length, now.oldest, now.trouble);
    waiting.show();
  },
});
const waiting = new Waiting(queue, {
  take,
  words: (row) => told.get(row.id)?.sentence,
  freed() {
    twin?.restart(view?.state, queue.own);
    if (view) show(view);
  },
});

// ---- hearing

async function take(code, heard = performance.now()) {
  quiet();
  wedge.clear();
  field.value = "";
  if (queue.owner === null) {
    say("stop", "This bench has not heard from the server yet: nothing was taken. Open the page again.", true);
    return;
  }
  const ms = Date.now();
  const said = twin
    ? twin.take(code, ms)
    : { kind: "kept", tone: "neutral", sentence: `Kept here, not checked yet: ${code}`, loud: false };
  let row;
  try {
    row = await queue.add(code, ms, twin?.state.pending?.quantity ?? null);
  } catch {
    twin?.restart(view?.state, queue.own);
    say("stop", "This device cannot keep scans: nothing was taken. Free some space, or use another device.", true);
    return;
  }
  told.set(row.id, said);
  say(said.tone, said.sentence, said.loud, said.data);
  performance.measure("scan-to-tone", { start: heard, end: performance.now() });
  if (twin) showState(twin.state);
  queue.send();
}

function ended(heard = performance.now()) {
  const text = field.value;
  if (!text) {
    // Enter alone confirms; but not the second Enter that some scanners send.
    if (Date.now() - lastScanAt > AFTER_SCAN_MS) {
      lastScanAt = Date.now();
      take(root.dataset.enter, heard);
    }
    return;
  }
  if (wedge.inDoubt && wedge.text === text) {
    wedge.clear();
    field.value = "";
    say("stop", `Partial scan ('${text.slice(0, 20)}'): repeat it. Nothing was taken.`, true);
    return;
  }
  lastScanAt = Date.now();
  take(text, heard);
}

function pressed(event) {
  wake();
  if (event.isComposing || event.keyCode === 229) {
    if (event.code) say("stop", "Switch the input method off: it garbles the scanner.");
    return;
  }
  const now = performance.now();
  const elsewhere = event.target.closest("a, button, summary, input:not(#scan), select");
  if (event.key === "Enter" || (event.key === "Tab" && wedge.inBurst(now))) {
    if (elsewhere && !wedge.text) return;
    event.preventDefault();
    event.stopPropagation();
    if (!event.repeat) ended(event.timeStamp);
    return;
  }
  const control = wedge.inBurst(now) ? wedge.control(event) : "";
  if (control || (event.ctrlKey && event.code === "KeyJ" && wedge.inBurst(now))) {
    event.preventDefault();
    if (control) typed(control, now);
    return;
  }
  if (event.ctrlKey || event.altKey || event.metaKey) return;
  if (event.key === "Escape") return forget(event);
  if (event.key === "Backspace" && field.value) return rub(event);
  const sign = event.code ? character(event) : "";
  if (!sign || (sign === " " && elsewhere && !wedge.text)) return;
  event.preventDefault();
  event.stopPropagation();
  typed(sign, now);
}

function typed(sign, now) {
  if (field.value.length >= 512) return;
  quiet();
  wedge.add(sign, now);
  field.value += sign;
}

function forget(event) {
  event.preventDefault();
  wedge.clear();
  field.value = "";
  quiet();
}

function rub(event) {
  event.preventDefault();
  field.value = field.value.slice(0, -1);
  wedge.clear();
}

window.addEventListener("keydown", pressed, { capture: true });
at("scan-form").addEventListener("submit", (event) => {
  event.preventDefault();
  if (field.value) ended();
});

// ---- touching

root.addEventListener("pointerdown", wake);
root.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  if (button.dataset.code && !isDouble(button)) take(button.dataset.code);
  if (button.dataset.digit) key(keyed + button.dataset.digit);
  if (button.id === "pad-back") key(keyed.slice(0, -1));
  if (button.id === "pad-set" && keyed) {
    take(keyed);
    key("");
  }
  if (button.id === "type") {
    field.inputMode = "text";
    field.blur();
  }
  if (button.id === "camera") toggleCamera();
  field.focus({ preventScroll: true });
});
at("send-now").addEventListener("click", () => queue.now());
at("save-unsent").addEventListener("click", () => say("neutral", waiting.saveFile()));
at("load-unsent").addEventListener("change", async (event) => {
  const [file] = event.target.files;
  event.target.value = "";
  if (!file) return;
  try {
    say("neutral", await waiting.loadFile(file));
    queue.now();
  } catch (error) {
    say("stop", error.message, true);
  }
});
at("loud-close").addEventListener("click", quiet);

// A glove bounces: the second press of one button at once is none.
function isDouble(button) {
  const now = Date.now();
  const double = lastPress.button === button && now - lastPress.at < DOUBLE_MS;
  lastPress = { button, at: now };
  return double;
}

function key(text) {
  quiet();
  keyed = text.replace(/^0+(?=\d)/, "").slice(0, DIGITS);
  at("pad-value").textContent = keyed || "–";
}

// ---- seeing

at("photo").addEventListener("change", async (event) => {
  const [photo] = event.target.files;
  if (!photo) return;
  event.target.value = "";
  const body = new FormData();
  body.append("photo", photo);
  say("neutral", "Reading the photo…");
  try {
    const response = await fetch("/api/v1/photos", {
      method: "POST", headers: { "X-CSRFToken": token() }, body,
    });
    const answer = await response.json();
    if (!response.ok) say("stop", answer.detail || "The photo could not be read.");
    else chosen(answer);
  } catch {
    say("stop", "The photo was not sent: no connection. Take it again, or type the code.");
  }
});

function chosen(answer) {
  const own = answer.codes.filter((row) => row.kind === "own");
  at("found").replaceChildren();
  at("found").hidden = own.length < 2;
  if (own.length === 1) return take(own[0].text);
  if (!own.length) {
    const other = answer.codes.length ? "That is no code of this shop." : answer.sentence;
    return say("stop", other || "No code was found in the photo.");
  }
  say("neutral", "Several labels are in the photo: which one?");
  for (const row of own) at("found").append(coded(row.text, row.text, ""));
}

const camera = new Camera(at("video"), {
  code: take,
  trouble: (sentence) => say("stop", sentence),
  cameras(list, current) {
    at("cameras").hidden = list.length < 2;
    at("cameras").replaceChildren(...list.map((each, number) => {
      const option = new Option(each.label || `Camera ${number + 1}`, each.deviceId);
      option.selected = each.deviceId === current;
      return option;
    }));
  },
});
at("cameras").addEventListener("change", (event) => camera.choose(event.target.value));

async function toggleCamera() {
  const started = camera.running ? camera.stop() : await camera.start();
  at("viewer").hidden = !started;
  at("camera").textContent = started ? "Camera off" : "Camera";
}

// ---- saying

function say(tone, sentence, loud = false, data = {}) {
  words(tone, sentence, loud);
  at("pair").replaceChildren();
  if (data?.asked) drawPair(data.this, data.asked);
  sound(loud ? "stop" : tone);
}

function words(tone, sentence, loud) {
  const flash = at("flash");
  flash.className = `flash ${tone}${sentence.length > LONG ? " long" : ""}`;
  void flash.offsetWidth;
  flash.classList.add("hit");
  at("flash-mark").textContent = MARKS[tone] || "";
  at("flash-tone").textContent = WORDS[tone] || "";
  at("flash-words").textContent = sentence.replace(/^STOP\. /, "");
  at("loud").hidden = !loud;
  at("loud").classList.toggle("news", tone === "taken");
  at("loud-words").textContent = loud ? sentence : "";
}

// The tin in the hand and the one that is asked for, side by side at one scale.
async function drawPair(item, asked) {
  try {
    const response = await fetch(`/bench/pair/${item}/${asked}/`);
    if (!response.ok) return;
    at("pair").innerHTML = await response.text();
    const sides = make("p", "", "sides");
    sides.append(make("span", "in your hand"), make("span", "asked for"));
    at("pair").querySelector("figure").prepend(sides);
  } catch {
    // Without a connection the words must do.
  }
}

function quiet() {
  at("loud").hidden = true;
}

function make(tag, text = "", kind = "") {
  const element = document.createElement(tag);
  element.textContent = text;
  if (kind) element.className = kind;
  return element;
}

function coded(text, code, kind = "second") {
  const button = make("button", text, kind);
  button.type = "button";
  button.dataset.code = code;
  return button;
}

// ---- showing

// What the server says stands; what was scanned here since is taken on top of it.
function learn(bench) {
  view = bench;
  keep("view", bench).catch(() => {});
  if (twin) {
    const { assembly } = bench;
    const row = assembly && twin.known.shop.assemblies[assembly.id];
    for (const ask of assembly?.asks || []) {
      if (row) row.asks[ask.item] = ask.remaining;
      for (const bin of ask.bins) {
        const known = twin.known.shop.bins[bin.number];
        if (known) known.on_hand = bin.on_hand;
      }
    }
    twin.restart(bench.state, queue.own);
  }
  show(bench);
  if (!queue.rows.length && Date.now() - shopAt > REFRESH_MS) fetchShop();
}

function show(bench) {
  const { assembly } = bench;
  at("person").textContent = bench.person;
  at("where").textContent = assembly
    ? `${assembly.stage} / ${assembly.name}`
    : "no assembly is open: what is pulled counts as outside the plan";
  at("asks-section").hidden = !assembly;
  if (assembly) at("close-link").href = `/assemblies/${assembly.id}/close-up/`;
  if (assembly) at("asks").replaceChildren(...assembly.asks.map(askRow));
  at("last").replaceChildren(...bench.last.map(lastRow));
  if (!bench.last.length) at("last").append(make("li", "Nothing yet."));
  showState(twin ? twin.state : bench.state);
}

function showState(state) {
  showPending(state);
  for (const button of at("verbs").children) {
    button.setAttribute("aria-pressed", String(button.dataset.verb === state.verb));
  }
  const wrong = Boolean(state.pending?.wrong) && state.verb === "pull";
  at("why").hidden = !wrong;
  at("why-instead").hidden = !state.pending?.instead;
  at("reasons").hidden = state.assembly !== null || state.verb !== "pull";
  at("bit-events").hidden = state.bit === null;
  for (const button of root.querySelectorAll("[data-reason]")) {
    button.setAttribute("aria-pressed", String(button.dataset.reason === state.reason));
  }
  const row = twin?.known.shop.assemblies[state.assembly];
  if (row && view?.assembly?.id !== state.assembly) at("where").textContent = row.name;
  if (twin && state.person && twin.known.shop.people[state.person]) {
    at("person").textContent = twin.known.shop.people[state.person];
  }
}

function showPending(state) {
  const { pending } = state;
  at("pending").hidden = !pending;
  if (!pending) return;
  at("pending-verb").textContent = `${state.verb} from bin ${pending.bin}`;
  if (state.verb !== "pull") at("pending-verb").textContent = `${state.verb}, bin ${pending.bin}`;
  at("pending-words").textContent = pending.words;
  at("pending-count").textContent = pending.quantity === null ? "how many?" : pending.quantity;
  at("pending-asked").textContent = pending.asked ? `asked ${pending.asked}` : "";
  at("pending").classList.toggle("wrong", Boolean(pending.wrong) && state.verb === "pull");
}

function askRow(ask) {
  const row = make("li", "", ask.remaining ? "" : "done");
  row.append(make("span", ask.remaining ? String(ask.remaining) : "✓ 0", "left"));
  const said = make("span", "", "words");
  said.append(make("b", ask.words), " ", make("span", ask.callout, "callout"));
  said.append(make("small", `${ask.pulled} of ${ask.need} pulled`));
  row.append(said);
  for (const bin of ask.bins) {
    row.append(coded(`bin ${bin.number}`, `b${bin.number}`), make("small", `${bin.spot} (${bin.on_hand})`));
  }
  if (!ask.bins.length) row.append(make("b", "no bin"));
  return row;
}

function lastRow(act) {
  const time = new Date(act.at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
  const row = make("li");
  const said = make("span", "", act.undone ? "words undone" : "words");
  const where = act.bin === null ? "" : ` bin ${act.bin}`;
  said.append(make("b", `${act.verb} ${act.quantity}`), ` ${act.words}${where}`);
  row.append(make("small", time), said, make("small", act.to ? `to ${act.to}` : ""));
  if (act.reason) row.append(make("small", act.reason));
  if (act.undone) row.append(make("span", "taken back", "tag"));
  else row.append(coded(act.verb === "undo" ? "Put back" : "Undo", `undo ${act.id}`));
  return row;
}

// ---- choosing an assembly

at("chooser").addEventListener("toggle", async () => {
  if (!at("chooser").open) return;
  const list = at("assemblies");
  list.replaceChildren(make("li", "Fetching…"));
  try {
    const response = await fetch("/api/v1/assemblies?open=1");
    const { results } = await response.json();
    list.replaceChildren(...results.filter((row) => row.code).map(assemblyRow));
    if (!results.length) list.append(make("li", "No assembly is open."));
  } catch {
    list.replaceChildren(make("li", "No connection: scan the assembly's sheet instead."));
  }
});

function assemblyRow(found) {
  const row = make("li");
  const button = coded(`${found.stage} / ${found.name}`, found.code);
  button.addEventListener("click", () => { at("chooser").open = false; });
  row.append(button);
  if (found.state === "in_work") row.append(make("span", "in work", "tag"));
  return row;
}

// ---- beginning

async function fetchShop() {
  try {
    const response = await fetch("/api/v1/bench/shop");
    if (!response.ok) return;
    const shop = await response.json();
    shopAt = Date.now();
    twin = new Twin(shop, view?.state);
    twin.restart(view?.state, queue.own);
    await keep("shop", shop);
  } catch {
    // The shop of last time stands.
  }
}

async function fetchView() {
  try {
    const response = await fetch(`/api/v1/bench?device=${await deviceId()}`);
    if (!response.ok) return response.status;
    view = await response.json();
    await keep("view", view);
    return 200;
  } catch {
    return 0;
  }
}

async function recall() {
  view = (await kept("view")) ?? null;
  const shop = await kept("shop");
  if (shop) twin = new Twin(shop, view?.state);
}

// Another device goes by the same number: this one gets its own, and so a bench of its own.
async function numberAnew() {
  await renumber();
  await fetchView();
  learn(view);
  say("stop", "This device was numbered anew and has a bench of its own now: open the assembly again.", true);
}

// A scan out of a file was for its own bench; this one is looked at again afterwards.
async function loadedCame(row, body) {
  if (body.tone === "stop") waiting.needs(row, body.sentence);
  sound("tick");
  if (queue.rows.some((each) => each.loaded)) return;
  await fetchView();
  learn(view);
}

async function begin() {
  field.focus();
  if (!isAllowed()) at("camera").hidden = true;
  await recall().catch(() => say("stop", "This device keeps no scans between pages: nothing can be taken.", true));
  const status = await fetchView();
  if (view) await queue.load(view.owner);
  await waiting.load().catch(() => {});
  if (status === 200) await fetchShop();
  if (twin) twin.restart(view?.state, queue.own);
  if (view) show(view);
  root.dataset.ready = "1";
  if (status === 0) say("neutral", "No connection: what you scan is kept here and sent later.");
  if (status >= 500) say("neutral", "The server fails: what you scan is kept here and sent later.");
  const { choose } = root.dataset;
  if (choose) {
    history.replaceState(null, "", location.pathname);
    await take(choose);
  }
  queue.send();
}

field.addEventListener("blur", () => {
  field.inputMode = field.inputMode === "text" && document.hidden ? "none" : field.inputMode;
  setTimeout(() => {
    if (document.activeElement === document.body) field.focus({ preventScroll: true });
  }, 50);
});
window.addEventListener("online", () => queue.now());
setInterval(() => showUnsent(queue.rows.length, queue.oldest, queue.trouble), 15000);

// The page itself goes on without a connection where the browser lets it.
if (navigator.serviceWorker) {
  navigator.serviceWorker.register("/bench-offline.js", { scope: "/" }).catch(() => {});
}
begin();
