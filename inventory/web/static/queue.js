// Scans on their way: in order, each under its own id, kept until the server answered.

import { adoptScan, forgetScan, keepScan, newId, unsent } from "./store.js";

const PAUSES_S = [1, 2, 5, 15, 30, 60];
const FAULTS_BEFORE_GIVING_UP = 4;
const PATIENCE_MS = 20000;

export function token() {
  const found = /(?:^|; )csrftoken=([^;]*)/.exec(document.cookie);
  return found ? found[1] : "";
}

export class Queue {
  // `on` has: answer(row, body), problem(row, body), change(queue), signedOut().
  constructor(on) {
    this.on = on;
    this.owner = null;
    this.rows = [];
    this.failures = 0;
    this.faults = 0;
    this.busy = false;
    this.hurry = false;
    this.timer = 0;
    this.last = Promise.resolve();
  }

  async load(owner) {
    this.owner = owner;
    this.rows = await unsent(owner);
    this.on.change(this);
  }

  get oldest() {
    return this.rows.length ? this.rows[0].ms : null;
  }

  // Resolves when the scan is on this device's disk; scans keep their order. It counts as
  // unsent at once, and is sent only after.
  add(code, ms, shown) {
    const row = { id: newId(ms), code, ms, shown, owner: this.owner };
    this.rows.push(row);
    this.on.change(this);
    this.last = this.last.catch(() => {}).then(() => keepScan(row)).then(
      (stored) => Object.assign(row, stored),
      (error) => {
        this.rows.splice(this.rows.indexOf(row), 1);
        this.on.change(this);
        throw error;
      },
    );
    return this.last;
  }

  // Scans that were saved as a file, here or on another device; resolves to how many are new.
  async adopt(rows) {
    const known = new Set(this.rows.map((row) => row.id));
    const fresh = rows.filter((row) => !known.has(row.id));
    for (const { id, code, ms, shown, owner, device, seq } of fresh) {
      this.rows.push(await adoptScan({ id, code, ms, shown, owner, device, seq, loaded: true }));
    }
    this.on.change(this);
    return fresh.length;
  }

  // What was scanned here; a loaded scan says nothing of this bench.
  get own() {
    return this.rows.filter((row) => !row.loaded);
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
    if (this.busy || this.timer || this.rows[0]?.place === undefined) return;
    this.busy = true;
    this.on.change(this);
    const again = await this.sendFirst();
    this.busy = false;
    this.on.change(this);
    if (again) this.send();
  }

  // Whether the next may go at once.
  async sendFirst() {
    const [row] = this.rows;
    let response;
    try {
      response = await fetch("/api/v1/scans", {
        method: "POST",
        headers: { "Content-Type": "application/json", "X-CSRFToken": token() },
        body: JSON.stringify({
          id: row.id, code: row.code, ms: row.ms, shown: row.shown ?? null, device: row.device, seq: row.seq, sent_ms: Date.now(),
        }),
        signal: AbortSignal.timeout ? AbortSignal.timeout(PATIENCE_MS) : undefined,
      });
    } catch {
      return this.later();
    }
    if ([401, 403].includes(response.status)) {
      this.on.signedOut();
      return this.later();
    }
    const body = await response.json().catch(() => null);
    if (response.status >= 500 || body === null) {
      this.faults += response.status === 500 ? 1 : 0;
      if (this.faults < FAULTS_BEFORE_GIVING_UP) return this.later();
    }
    await forgetScan(row.place);
    this.rows.shift();
    this.failures = this.faults = 0;
    this.hurry = false;
    if (response.ok && body) this.on.answer(row, body);
    else this.on.problem(row, body || {});
    return true;
  }

  later() {
    if (this.hurry) {
      this.hurry = false;
      return true;
    }
    const pause = PAUSES_S[Math.min(this.failures, PAUSES_S.length - 1)];
    this.failures += 1;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => {
      this.timer = 0;
      this.send();
    }, pause * 1000 * (0.8 + 0.4 * Math.random()));
    return false;
  }
}
