// What one answer changes of what this device knows: the screen's view, the twin's shop.

const MOST_LINES = 10;

/**
 * The view after an answer. Its `newest` moves on only where nothing else can have happened:
 * a newer entry than that is somebody else's, or another window's of this bench.
 * @param {View} view
 * @param {Answer} answer
 * @returns {View}
 */
export function changedView(view, { bench, changed, newest }) {
  if (!changed) return { ...view, ...bench };
  const { line, undoes, bins, asks } = changed;
  const others = view.last.filter((act) => act.id !== line.id)
    .map((act) => (act.id === undoes ? { ...act, undone: true } : act));
  const shown = view.assembly;
  return {
    ...view,
    ...bench,
    newest: newest === line.id && newest === view.newest + 1 ? newest : view.newest,
    last: [line, ...others].sort(newestFirst).slice(0, MOST_LINES),
    assembly: shown && { ...shown, asks: shown.asks.map((ask) => changedAsk(ask, shown.id === changed.assembly ? asks : {}, bins)) },
  };
}

/** @type {(one: Act, other: Act) => number} */
const newestFirst = (one, other) => other.id - one.id;

/**
 * @param {Ask} ask
 * @param {Changed["asks"]} asks
 * @param {Changed["bins"]} bins
 * @returns {Ask}
 */
function changedAsk(ask, asks, bins) {
  return {
    ...ask,
    ...asks[ask.item],
    bins: ask.bins.map((bin) => ({ ...bin, on_hand: bins[bin.number] ?? bin.on_hand })),
  };
}

/**
 * Whether the screen lacks something: another assembly is open, or others made entries.
 * @param {View} view
 * @param {number} newest
 */
export function isBehind(view, newest) {
  return newest !== view.newest || view.state.assembly !== (view.assembly?.id ?? null);
}

/**
 * The twin's shop after an answer.
 * @param {Shop} shop
 * @param {Changed} changed
 */
export function changeShop(shop, { bins, asks, owed, assembly }) {
  shop.owed = { ...shop.owed, ...owed };
  for (const [number, left] of Object.entries(bins)) {
    const known = shop.bins[Number(number)];
    if (known) known.on_hand = left;
  }
  const row = assembly === null ? undefined : shop.assemblies[assembly];
  for (const [item, { remaining }] of Object.entries(asks)) {
    if (row) row.asks[Number(item)] = remaining;
  }
}
