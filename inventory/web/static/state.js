// All that a page remembers while it is open, in one place.

/**
 * @type {{
 *   twin: import("./twin.js").Twin | null,
 *   view: View | null,
 *   shopAt: number,
 *   said: Map<string, Said>,
 *   keyed: string,
 *   lastScanAt: number,
 *   lastPress: { button: Element | null, at: number },
 *   audio: AudioContext | null,
 *   disk: Promise<IDBDatabase> | null,
 * }}
 */
export const state = {
  // The device's own reducer, and what the server said last of this bench.
  twin: null,
  view: null,
  shopAt: 0,
  // What this device said to each scan that is on its way.
  said: new Map(),
  keyed: "",
  lastScanAt: 0,
  lastPress: { button: null, at: 0 },
  audio: null,
  disk: null,
};
