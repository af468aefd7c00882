// Scans on their way: in order, each under its own id, kept until the server answered.

const PAUSES_S = [1, 2, 5, 15];
const FAULTS_BEFORE_GIVING_UP = 4;

// A UUID of version 4 that needs no secure origin.
export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [8, 12, 16, 20].reduceRight((text, at) => `${text.slice(0, at)}-${text.slice(at)}`, hex);
}

export class Queue {
  // `on` has: answer(body), problem(body, code), change(queue), waits(), signedOut().
  constructor(owner, csrf, on) {
    this.key = `gripcount-unsent-${owner}`;
    this.csrf = csrf;
    this.on = on;
    this.rows = this.stored();
    this.failures = 0;
    this.faults = 0;
    this.busy = false;
    this.timer = 0;
  }

  stored() {
    try {
      return JSON.parse(localStorage.getItem(this.key)) || [];
    } catch {
      return [];
    }
  }

  store() {
    try {
      localStorage.setItem(this.key, JSON.stringify(this.rows));
    } catch {
      // A full or forbidden store: the rows live on in this page.
    }
    this.on.change(this);
  }

  add(code) {
    this.rows.push({ id: newId(), code, ms: Date.now() });
    this.store();
    if (!this.timer) this.send();
  }

  now() {
    clearTimeout(this.timer);
    this.timer = 0;
    this.send();
  }

  async send() {
    if (this.busy || !this.rows.length) return;
    this.busy = true;
    this.on.change(this);
    const again = await this.sendFirst();
    this.busy = false;
    this.on.change(this);
    if (again && this.rows.length) this.send();
  }

  // Whether the next may go at once.
  async sendFirst() {
    let response;
    try {
      response = await fetch("/api/v1/scans", {
        method: "POST",
        headers: { "Content-Type": "application/json", "X-CSRFToken": this.csrf },
        body: JSON.stringify(this.rows[0]),
        signal: AbortSignal.timeout ? AbortSignal.timeout(20000) : undefined,
      });
    } catch {
      if (!this.failures) this.on.waits();
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
    const { code } = this.rows.shift();
    this.failures = this.faults = 0;
    this.store();
    if (response.ok && body) this.on.answer(body);
    else this.on.problem(body || {}, code);
    return true;
  }

  later() {
    const pause = PAUSES_S[Math.min(this.failures, PAUSES_S.length - 1)];
    this.failures += 1;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => {
      this.timer = 0;
      this.send();
    }, pause * 1000);
    return false;
  }
}
