// Scans on their way: in order, each under its own id, kept until the server answered it.
// A failure of the server or the way loses nothing: all wait, in order, and go later.

import { send } from "./sending.js";
import { adoptScan, forgetScan, keepScan, newId, unsent } from "./store.js";

const PAUSES_S = [1, 2, 5, 15, 30, 60];

export class Queue {
  /**
   * @param {{
   *   answer(row: Row, body: Answer): void, refused(sentence: string): void,
   *   signedOut(): void, change(): void,
   * }} on
   */
  constructor(on) {
    this.on = on;
    /** @type {number | null} */
    this.owner = null;
    /** @type {Row[]} */
    this.rows = [];
    this.failures = 0;
    this.failure = "";
    this.busy = false;
    this.hurry = false;
    this.timer = 0;
    /** @type {Promise<unknown>} */
    this.last = Promise.resolve();
  }

  /** @param {number} owner */
  async load(owner) {
    this.rows = await unsent(owner);
    this.owner = owner;
    this.on.change();
  }

  get oldest() {
    return this.rows.length ? this.rows[0].ms : null;
  }

  // The first one, when the server has refused it: it holds all that follow, because they
  // were scanned after it and mean something else without it.
  get refused() {
    return this.rows[0]?.refusal ? this.rows[0] : null;
  }

  // Why nothing goes, in words; "" while all is well.
  get trouble() {
    return this.refused ? "The server refused the first one" : this.failure;
  }

  /**
   * Resolves when the scan is on this device's disk; scans keep their order. It counts as
   * unsent at once, and is sent only after.
   * @param {string} code
   * @param {number} ms
   * @param {number | null} shown
   */
  add(code, ms, shown) {
    /** @type {Row} */
    const row = { id: newId(ms), code, ms, shown, owner: this.owner };
    this.rows.push(row);
    this.on.change();
    const stored = this.last.catch(() => {}).then(() => keepScan(row)).then(
      (kept) => {
        Object.assign(row, kept);
        this.on.change();
        return row;
      },
      (error) => {
        this.rows.splice(this.rows.indexOf(row), 1);
        this.on.change();
        throw error;
      },
    );
    this.last = stored;
    return stored;
  }

  /**
   * Scans that were saved as a file, here or on another device; resolves to how many are new.
   * @param {Row[]} rows
   */
  async adopt(rows) {
    const known = new Set(this.rows.map((row) => row.id));
    const fresh = rows.filter((row) => !known.has(row.id));
    for (const { id, code, ms, shown, owner, device, seq } of fresh) {
      this.rows.push(await adoptScan({ id, code, ms, shown, owner, device, seq, loaded: true }));
    }
    this.on.change();
    return fresh.length;
  }

  // What was scanned here; a loaded scan says nothing of this bench.
  get own() {
    return this.rows.filter((row) => !row.loaded);
  }

  // The refused one and what its device scanned after it.
  async held() {
    await this.last.catch(() => {});
    const { refused } = this;
    return refused ? this.rows.filter((row) => row.device === refused.device) : [];
  }

  /**
   * What was held is kept elsewhere now.
   * @param {Row[]} held
   */
  release(held) {
    this.rows = this.rows.filter((row) => !held.includes(row));
    this.on.change();
    this.send();
  }

  // Sends the refused one once more, under its own id.
  retry() {
    delete this.rows[0]?.refusal;
    return this.now();
  }

  // The connection may be back: whatever waits goes at once, also what is just failing.
  now() {
    clearTimeout(this.timer);
    this.timer = 0;
    this.failures = 0;
    this.hurry = this.busy;
    return this.send();
  }

  async send() {
    if (this.busy || this.timer || this.refused || this.rows[0]?.place === undefined) return;
    this.busy = true;
    this.on.change();
    const [row] = this.rows;
    const { answer, refusal, ...failed } = await send(row);
    if (failed.failure) {
      this.later(failed);
    } else {
      this.failure = "";
      this.failures = 0;
      this.hurry = false;
    }
    if (refusal) row.refusal = refusal.detail;
    if (answer) {
      this.rows.shift();
      // What cannot be forgotten is sent once more some day, and answered the same.
      await forgetScan(row).catch(() => {});
    }
    this.busy = false;
    this.on.change();
    if (refusal) this.on.refused(refusal.detail);
    if (answer) this.on.answer(row, answer);
    this.send();
  }

  /** @param {Came} came */
  later({ failure = "", signedOut }) {
    if (signedOut && this.failure !== failure) this.on.signedOut();
    this.failure = failure;
    if (this.hurry) {
      this.hurry = false;
      return;
    }
    const pause = PAUSES_S[Math.min(this.failures, PAUSES_S.length - 1)];
    this.failures += 1;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => {
      this.timer = 0;
      this.send();
    }, pause * 1000 * (0.8 + 0.4 * Math.random()));
  }
}
