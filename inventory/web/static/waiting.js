// Scans that are not settled yet, one line each: kept here, on its way, or in need of you.
// And the last resort: what waits as a file, which any device may send for the same person.

import { keep, kept } from "./store.js";

const MOST_SHOWN = 12;
const LONGEST = 512;
const IS_ID = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/;

const at = (id) => document.getElementById(id);

function make(tag, text = "", kind = "") {
  const element = document.createElement(tag);
  element.textContent = text;
  if (kind) element.className = kind;
  return element;
}

function button(text, press) {
  const found = make("button", text, "second");
  found.type = "button";
  found.addEventListener("click", press);
  return found;
}

function time(ms) {
  return new Date(ms).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
}

export class Waiting {
  // `take` scans a code again; `words` gives a scan's meaning on this device; `freed` hears
  // that scans were taken out.
  constructor(queue, { take, words, freed }) {
    this.queue = queue;
    this.take = take;
    this.words = words;
    this.freed = freed;
    this.needy = [];
  }

  async load() {
    this.needy = (await kept("needy")) ?? [];
    this.show();
  }

  // The server took a scan otherwise than this device had said.
  needs(row, sentence) {
    this.needy = [...this.needy, { id: row.id, code: row.code, ms: row.ms, sentence }];
    this.keepNeedy();
  }

  // What the server refused, and all that was scanned after it, becomes the person's.
  async takeOut() {
    const held = await this.queue.held();
    const mine = held.map(({ id, code, ms, refusal }) => (
      { id, code, ms, sentence: refusal ?? "It was scanned after one that was refused." }
    ));
    await keep("needy", [...this.needy, ...mine]);
    this.needy = [...this.needy, ...mine];
    await this.queue.release(held);
    this.freed();
  }

  settle(id) {
    this.needy = this.needy.filter((each) => each.id !== id);
    this.keepNeedy();
  }

  keepNeedy() {
    keep("needy", this.needy).catch(() => {});
    this.show();
  }

  show() {
    const { rows } = this.queue;
    const more = rows.length - MOST_SHOWN;
    const { refused } = this.queue;
    at("needy-rows").hidden = !this.needy.length && !refused;
    at("needy-rows").replaceChildren(...this.needy.map((each) => this.needyRow(each)));
    if (refused) at("needy-rows").prepend(this.refusedRow(refused));
    at("waiting").hidden = !rows.length;
    at("waiting-rows").replaceChildren(
      ...rows.slice(0, MOST_SHOWN).map((row, place) => this.row(row, place)),
    );
    if (more > 0) at("waiting-rows").append(make("li", `and ${more} more`));
  }

  row(row, place) {
    const state = this.queue.busy && place === 0 ? "sending" : "on this device";
    const line = make("li");
    line.append(make("small", time(row.ms)), make("span", this.words(row) || row.code, "words"));
    line.append(make("span", state, "tag"));
    return line;
  }

  needyRow(each) {
    const line = this.needyLine(each, each.sentence);
    line.append(
      button("Scan it again", () => { this.settle(each.id); this.take(each.code); }),
      button("Seen", () => this.settle(each.id)),
    );
    return line;
  }

  refusedRow(row) {
    const behind = this.queue.rows.filter((each) => each.device === row.device).length - 1;
    const wait = behind ? ` ${behind} more wait behind it, in order.` : "";
    const line = this.needyLine(row, `${row.refusal}${wait}`);
    line.append(
      button("Send it again", () => this.queue.retry()),
      button(behind ? `Take all ${behind + 1} out` : "Take it out", () => this.takeOut()),
    );
    return line;
  }

  needyLine({ ms, code }, sentence) {
    const line = make("li", "", "needy");
    const said = make("span", "", "words");
    said.append(make("b", "Needs you. "), sentence, " ", make("small", code, "callout"));
    line.append(make("small", time(ms)), said);
    return line;
  }

  saveFile() {
    const { rows } = this.queue;
    const text = JSON.stringify(rows, null, 1);
    const link = make("a");
    link.href = URL.createObjectURL(new Blob([text], { type: "application/json" }));
    link.download = "unsent-scans.json";
    link.click();
    return `${rows.length} unsent scans were saved as a file: any device can send it for you, once.`;
  }

  // Takes the scans of a file into the queue; resolves to a sentence. Errors are sentences.
  async loadFile(file) {
    let rows;
    try {
      rows = JSON.parse(await file.text());
    } catch {
      rows = null;
    }
    if (!Array.isArray(rows) || !rows.length || !rows.every(isScan)) {
      throw new Error("That is no file of unsent scans, or it is damaged: nothing was loaded.");
    }
    if (rows.some((row) => row.owner !== this.queue.owner)) {
      throw new Error("Somebody else made these scans: sign in as them, then load the file. Nothing was loaded.");
    }
    const count = await this.queue.adopt(rows);
    return `${count} scans loaded; what is on the server already is not booked again.`;
  }
}

function isScan(row) {
  return row && IS_ID.test(row.id) && IS_ID.test(row.device) && Number.isInteger(row.seq)
    && typeof row.code === "string" && row.code.length <= LONGEST && Number.isFinite(row.ms);
}
