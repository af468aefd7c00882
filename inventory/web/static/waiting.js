// Scans that are not settled yet, one line each: kept here, on its way, or in need of you.
// And the last resort: what waits as a file, which any device may send for the same person.

import { at, button, chosenFile, hour, input, make } from "./elements.js";
import { say } from "./speaking.js";
import { keep, kept, setAside, unsent } from "./store.js";

const MOST_SHOWN = 12;
const LONGEST = 512;
const IS_ID = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/;

export class Waiting {
  /**
   * `take` scans a code again and says whether it is kept; `words` gives a scan's meaning
   * on this device; `freed` hears that scans were taken out; `named` says who somebody is.
   * @param {import("./queue.js").Queue} queue
   * @param {{
   *   take(code: string): Promise<boolean>, words(row: Row): string | undefined, freed(): void,
   *   named(person: number | null): string,
   * }} on
   */
  constructor(queue, on) {
    this.queue = queue;
    this.on = on;
    /** @type {Needy[]} */
    this.needy = [];
    // What other people scanned on this device; only they can send it.
    /** @type {Row[]} */
    this.others = [];
  }

  async load() {
    this.needy = (await kept("needy")) ?? [];
    this.others = (await unsent()).filter((row) => row.owner !== this.queue.owner);
    this.show();
  }

  /**
   * The server took a scan otherwise than this device had said.
   * @param {Row} row
   * @param {string} sentence
   */
  needs({ id, code, ms }, sentence) {
    this.keepNeedy([...this.needy, { id, code, ms, sentence }]);
  }

  // What the server refused, and all that was scanned after it, becomes the person's.
  async takeOut() {
    const held = await this.queue.held();
    const mine = held.map(({ id, code, ms, refusal }) => (
      { id, code, ms, sentence: refusal ?? "It was scanned after one that was refused." }
    ));
    const needy = [...this.needy, ...mine];
    try {
      await setAside(held, needy);
    } catch {
      say("stop", "This device cannot keep them: nothing was taken out. Free some space, then try again.", true);
      return;
    }
    this.needy = needy;
    this.queue.release(held);
    this.on.freed();
  }

  /**
   * It goes only when the new scan is on this device's disk.
   * @param {Needy} one
   */
  async scanAgain(one) {
    const rest = () => this.needy.filter((each) => each.id !== one.id);
    this.needy = rest();
    this.show();
    const isKept = await this.on.take(one.code);
    this.keepNeedy(isKept ? rest() : [one, ...rest()]);
  }

  /** @param {Needy} one */
  settle(one) {
    this.keepNeedy(this.needy.filter((each) => each.id !== one.id));
  }

  /** @param {Needy[]} needy */
  keepNeedy(needy) {
    this.needy = needy;
    keep("needy", needy).catch(() => {});
    this.show();
  }

  show() {
    const { rows, refused } = this.queue;
    at("needy-rows").hidden = !this.needy.length && !refused && !this.others.length;
    at("needy-rows").replaceChildren(
      ...this.needy.map((each) => this.needyRow(each)),
      ...[...new Set(this.others.map((row) => row.owner))].map((who) => this.othersRow(who)),
    );
    if (refused) at("needy-rows").prepend(this.refusedRow(refused));
    at("waiting").hidden = !rows.length;
    at("waiting-rows").replaceChildren(
      ...rows.slice(0, MOST_SHOWN).map((row, place) => this.row(row, place)),
    );
    const more = rows.length - MOST_SHOWN;
    if (more > 0) at("waiting-rows").append(make("li", `and ${more} more`));
  }

  /**
   * @param {Row} row
   * @param {number} place
   */
  row(row, place) {
    const way = this.queue.busy && place === 0 ? "sending" : "on this device";
    const line = make("li");
    line.append(make("small", hour(row.ms)), make("span", this.on.words(row) || row.code, "words"));
    line.append(make("span", way, "tag"));
    return line;
  }

  /** @param {Needy} each */
  needyRow(each) {
    const line = needyLine(each, each.sentence);
    line.append(
      pressing("Scan it again", () => this.scanAgain(each)),
      pressing("Seen", () => this.settle(each)),
    );
    return line;
  }

  /** @param {number | null} who */
  othersRow(who) {
    const rows = this.others.filter((row) => row.owner === who);
    const name = this.on.named(who);
    const scans = rows.length === 1 ? "1 scan" : `${rows.length} scans`;
    const sentence = `${scans} of ${name} on this device, not in the record yet: ${name} signs `
      + "in here and opens the bench, then they are sent. A saved file can be sent from anywhere.";
    const line = needyLine({ ms: rows[0].ms, code: "" }, sentence, name);
    line.append(pressing("Save as a file", () => say("neutral", saveFile(rows))));
    return line;
  }

  /** @param {Row} row */
  refusedRow(row) {
    const behind = this.queue.rows.filter((each) => each.device === row.device).length - 1;
    const wait = behind ? ` ${behind} more wait behind it, in order.` : "";
    const line = needyLine(row, `${row.refusal}${wait}`);
    line.append(
      pressing("Send it again", () => this.queue.retry()),
      pressing(behind ? `Take all ${behind + 1} out` : "Take it out", () => this.takeOut()),
    );
    return line;
  }

  listen() {
    at("save-unsent").addEventListener("click", () => say("neutral", saveFile(this.queue.rows)));
    input("load-unsent").addEventListener("change", async (event) => {
      const file = chosenFile(event);
      if (!file) return;
      try {
        say("neutral", await this.loadFile(file));
        this.queue.now();
      } catch (error) {
        say("stop", error instanceof Error ? error.message : String(error), true);
      }
    });
  }

  /**
   * Takes the scans of a file into the queue; resolves to a sentence. Errors are sentences.
   * @param {File} file
   */
  async loadFile(file) {
    const rows = scansIn(await file.text());
    if (!rows?.length) {
      throw new Error("That is no file of unsent scans, or it is damaged: nothing was loaded.");
    }
    if (rows.some((row) => row.owner !== this.queue.owner)) {
      throw new Error("Somebody else made these scans: sign in as them, then load the file. Nothing was loaded.");
    }
    const count = await this.queue.adopt(rows);
    return `${count} scans loaded; what is on the server already is not booked again.`;
  }
}

/**
 * @param {{ms: number, code: string}} scan
 * @param {string} sentence
 */
function needyLine({ ms, code }, sentence, whom = "you") {
  const line = make("li", "", "needy");
  const said = make("span", "", "words");
  said.append(make("b", `Needs ${whom}. `), sentence, " ", make("small", code, "callout"));
  line.append(make("small", hour(ms)), said);
  return line;
}

/** @param {Row[]} rows */
function saveFile(rows) {
  const text = JSON.stringify(rows, null, 1);
  const link = make("a");
  link.href = URL.createObjectURL(new Blob([text], { type: "application/json" }));
  link.download = "unsent-scans.json";
  link.click();
  return `${rows.length} unsent scans were saved as a file: any device can send it for the same person, once.`;
}

/**
 * @param {string} text
 * @param {() => void} press
 */
function pressing(text, press) {
  const made = button(text);
  made.addEventListener("click", press);
  return made;
}

/**
 * The scans that a file holds; null when it is anything else.
 * @param {string} text
 * @returns {Row[] | null}
 */
function scansIn(text) {
  try {
    const rows = JSON.parse(text);
    return Array.isArray(rows) && rows.every(isScan) ? rows : null;
  } catch {
    return null;
  }
}

/** @param {any} row */
function isScan(row) {
  return row && IS_ID.test(row.id) && IS_ID.test(row.device) && Number.isInteger(row.seq)
    && typeof row.code === "string" && row.code.length <= LONGEST && Number.isFinite(row.ms);
}
