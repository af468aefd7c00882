// What this device keeps: scans that are not sent yet, its own number and count, and the
// shop as it last saw it. Written to disk before anything sounds.

import { state } from "./state.js";

const NAME = "gripcount";

/** @returns {Promise<IDBDatabase>} */
function open() {
  state.disk ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("scans", { keyPath: "place", autoIncrement: true });
      asked.result.createObjectStore("kept");
    };
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
  state.disk.catch(() => { state.disk = null; });
  return state.disk;
}

/**
 * Runs work on the stores in one transaction; resolves when it is on disk.
 * @template Result
 * @param {string[]} names
 * @param {IDBTransactionMode} mode
 * @param {(stores: IDBObjectStore[], done: (value: Result) => void) => void} work
 * @returns {Promise<Result>}
 */
async function within(names, mode, work) {
  const base = await open();
  return new Promise((resolve, reject) => {
    const all = base.transaction(names, mode, { durability: "strict" });
    /** @type {Result} */
    let result;
    all.oncomplete = () => resolve(result);
    all.onerror = all.onabort = () => reject(all.error || new Error("storage"));
    work(names.map((name) => all.objectStore(name)), (value) => { result = value; });
  });
}

// A UUID of version 7 that needs no secure origin: milliseconds, then chance (RFC 9562).
export function newId(now = Date.now()) {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  for (let at = 0; at < 6; at += 1) bytes[at] = Math.floor(now / 256 ** (5 - at)) % 256;
  bytes[6] = (bytes[6] & 0x0f) | 0x70;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [8, 12, 16, 20].reduceRight((text, at) => `${text.slice(0, at)}-${text.slice(at)}`, hex);
}

/**
 * @param {IDBObjectStore} scans
 * @param {Row} row
 * @param {(row: Row) => void} done
 */
function add(scans, row, done) {
  const asked = scans.add(row);
  asked.onsuccess = () => done({ ...row, place: Number(asked.result) });
}

/**
 * Keeps one scan under the device's next number, in one transaction with that number.
 * @param {Row} scan
 * @returns {Promise<Row>}
 */
export function keepScan(scan) {
  return within(["scans", "kept"], "readwrite", ([scans, kept], done) => {
    const asked = kept.get("device");
    asked.onsuccess = () => {
      const device = asked.result || { id: newId(), seq: 0 };
      device.seq += 1;
      kept.put(device, "device");
      add(scans, { ...scan, device: device.id, seq: device.seq }, done);
    };
  });
}

/**
 * Keeps a scan of another device as it is: its id and number are that device's.
 * @param {Row} row
 * @returns {Promise<Row>}
 */
export function adoptScan(row) {
  return within(["scans"], "readwrite", ([scans], done) => add(scans, row, done));
}

/**
 * What is kept and not sent: of this person, or of everybody.
 * @param {number} [owner]
 * @returns {Promise<Row[]>}
 */
export function unsent(owner) {
  return within(["scans"], "readonly", ([scans], done) => {
    const asked = scans.getAll();
    asked.onsuccess = () => {
      /** @type {Row[]} */
      const rows = asked.result;
      done(owner === undefined ? rows : rows.filter((row) => row.owner === owner));
    };
  });
}

/**
 * @param {Row} row
 * @returns {Promise<void>}
 */
export function forgetScan({ place = -1 }) {
  return within(["scans"], "readwrite", ([scans]) => { scans.delete(place); });
}

/**
 * Scans become the person's: no longer to be sent and not yet settled, in one transaction,
 * as a page that ends between the two would send what the person scans again.
 * @param {Row[]} rows
 * @param {Needy[]} needy
 * @returns {Promise<void>}
 */
export function setAside(rows, needy) {
  return within(["scans", "kept"], "readwrite", ([scans, kept]) => {
    for (const { place = -1 } of rows) scans.delete(place);
    kept.put(needy, "needy");
  });
}

/**
 * @template {keyof Kept} Name
 * @param {Name} name
 * @param {Kept[Name]} value
 * @returns {Promise<void>}
 */
export function keep(name, value) {
  return within(["kept"], "readwrite", ([kept]) => { kept.put(value, name); });
}

/**
 * @template {keyof Kept} Name
 * @param {Name} name
 * @returns {Promise<Kept[Name] | undefined>}
 */
export function kept(name) {
  return within(["kept"], "readonly", ([stored], done) => {
    const asked = stored.get(name);
    asked.onsuccess = () => done(asked.result);
  });
}

// A new number for a device whose old one another device uses too.
export async function renumber() {
  await keep("device", { id: newId(), seq: 0 });
}

export async function deviceId() {
  const device = await kept("device");
  if (device) return device.id;
  const fresh = { id: newId(), seq: 0 };
  await keep("device", fresh);
  return fresh.id;
}
