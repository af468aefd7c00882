// The bench: it always listens, sends what it hears, and shows what the server says.

import { Queue } from "./queue.js";
import { sound, wake } from "./tones.js";
import { character, Wedge } from "./wedge.js";

const at = (id) => document.getElementById(id);
const root = at("bench");
const field = at("scan");
const wedge = new Wedge();
const MARKS = { taken: "✓", stop: "✗✗", neutral: "·" };
const AFTER_SCAN_MS = 800;
const DOUBLE_MS = 500;
const DIGITS = 7;

let keyed = "";
let lastScanAt = 0;
let lastPress = { button: null, at: 0 };

const queue = new Queue(root.dataset.owner, root.dataset.csrf, {
  answer(body) {
    say(body.tone, body.sentence, body.loud);
    if (body.bench) show(body.bench);
  },
  problem(body, code) {
    say("stop", body.detail || `The server failed on '${code}': it was not taken.`, true);
  },
  signedOut() {
    say("stop", "You are signed out: load the page, sign in. Nothing is lost.", true);
  },
  waits() {
    say("neutral", "No connection: kept on this device, not sent yet.");
  },
  change(now) {
    at("unsent").hidden = now.failures === 0 || !now.rows.length;
    at("unsent-words").textContent = `not sent: ${now.rows.length}`;
    for (const button of root.querySelectorAll("button[data-code], #pad-set")) {
      button.disabled = now.busy;
    }
  },
});

// ---- hearing

function send(code) {
  quiet();
  wedge.clear();
  field.value = "";
  queue.add(code);
}

function ended() {
  const text = field.value;
  if (!text) {
    // Enter alone confirms; but not the second Enter that some scanners send.
    if (Date.now() - lastScanAt > AFTER_SCAN_MS) {
      lastScanAt = Date.now();
      send(root.dataset.enter);
    }
    return;
  }
  if (wedge.inDoubt && wedge.text === text) {
    wedge.clear();
    field.value = "";
    say("stop", "Partial scan: repeat it. Nothing was sent.", true);
    return;
  }
  lastScanAt = Date.now();
  send(text);
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
    if (!event.repeat) ended();
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
  if (button.dataset.code && !isDouble(button)) send(button.dataset.code);
  if (button.dataset.digit) key(keyed + button.dataset.digit);
  if (button.id === "pad-back") key(keyed.slice(0, -1));
  if (button.id === "pad-set" && keyed) {
    send(keyed);
    key("");
  }
  if (button.id === "send-now") queue.now();
  if (button.id === "type") {
    field.inputMode = "text";
    field.blur();
  }
  field.focus({ preventScroll: true });
});
at("loud").addEventListener("click", quiet);

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

at("photo").addEventListener("change", async (event) => {
  const [photo] = event.target.files;
  if (!photo) return;
  event.target.value = "";
  const body = new FormData();
  body.append("photo", photo);
  say("neutral", "Reading the photo…");
  try {
    const response = await fetch("/api/v1/photos", {
      method: "POST",
      headers: { "X-CSRFToken": root.dataset.csrf },
      body,
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
  if (own.length === 1) return send(own[0].text);
  if (!own.length) {
    const other = answer.codes.length ? "That is no code of this shop." : answer.sentence;
    return say("stop", other || "No code was found in the photo.");
  }
  say("neutral", "Several labels are in the photo: which one?");
  for (const row of own) {
    const button = make("button", row.text);
    button.type = "button";
    button.dataset.code = row.text;
    at("found").append(button);
  }
}

// ---- saying

function say(tone, sentence, loud = false) {
  const flash = at("flash");
  flash.className = `flash ${tone}`;
  void flash.offsetWidth;
  flash.classList.add("hit");
  at("flash-mark").textContent = MARKS[tone] || "";
  at("flash-words").textContent = sentence;
  at("loud").hidden = !loud;
  at("loud").classList.toggle("news", tone === "taken");
  at("loud-words").textContent = loud ? sentence : "";
  sound(loud ? "stop" : tone);
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

function show(bench) {
  const { state, assembly } = bench;
  at("person").textContent = bench.person;
  at("where").textContent = assembly
    ? `${assembly.stage} / ${assembly.name}`
    : "no assembly is open: what is pulled counts as outside the plan";
  showPending(state);
  for (const button of at("verbs").children) {
    button.setAttribute("aria-pressed", String(button.dataset.verb === state.verb));
  }
  at("reasons").hidden = Boolean(assembly) || state.verb !== "pull";
  at("bit-events").hidden = state.bit === null;
  at("asks-section").hidden = !assembly;
  if (assembly) at("asks").replaceChildren(...assembly.asks.map(askRow));
  at("last").replaceChildren(...bench.last.map(lastRow));
  if (!bench.last.length) at("last").append(make("li", "Nothing yet."));
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
}

function askRow(ask) {
  const row = make("li", "", ask.remaining ? "" : "done");
  row.append(make("span", ask.remaining ? String(ask.remaining) : "✓ 0", "left"));
  const words = make("span", "", "words");
  words.append(make("b", ask.words), " ", make("span", ask.callout, "callout"));
  words.append(make("small", `${ask.pulled} of ${ask.need} pulled`));
  row.append(words);
  for (const bin of ask.bins) {
    const button = make("button", `bin ${bin.number}`, "second");
    button.type = "button";
    button.dataset.code = `b${bin.number}`;
    row.append(button, make("small", `${bin.spot} (${bin.on_hand})`));
  }
  if (!ask.bins.length) row.append(make("b", "no bin"));
  return row;
}

function lastRow(act) {
  const time = new Date(act.at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
  const row = make("li");
  const words = make("span", "", act.undone ? "words undone" : "words");
  const where = act.bin === null ? "" : ` bin ${act.bin}`;
  words.append(make("b", `${act.verb} ${act.quantity}`), ` ${act.words}${where}`);
  row.append(make("small", time), words, make("small", act.to ? `to ${act.to}` : ""));
  if (act.reason) row.append(make("small", act.reason));
  if (act.undone) row.append(make("span", "taken back", "tag"));
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
  const button = make("button", `${found.stage} / ${found.name}`, "second");
  button.type = "button";
  button.dataset.code = found.code;
  button.addEventListener("click", () => { at("chooser").open = false; });
  row.append(button);
  if (found.state === "in_work") row.append(make("span", "in work", "tag"));
  return row;
}

// ---- beginning

async function begin() {
  field.focus();
  const choose = root.dataset.choose;
  if (choose) {
    history.replaceState(null, "", location.pathname);
    queue.add(choose);
    return;
  }
  try {
    const response = await fetch("/api/v1/bench");
    if (response.ok) show(await response.json());
  } catch {
    say("stop", "No connection: what you scan is kept here and sent later.");
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
begin();
