// Choosing an assembly from the list instead of scanning its sheet.

import { at, coded, make } from "./elements.js";

export function offerAssemblies() {
  const chooser = /** @type {HTMLDetailsElement} */ (at("chooser"));
  chooser.addEventListener("toggle", () => {
    if (chooser.open) fill(chooser);
  });
}

/** @param {HTMLDetailsElement} chooser */
async function fill(chooser) {
  const list = at("assemblies");
  list.replaceChildren(make("li", "Fetching…"));
  try {
    const response = await fetch("/api/v1/assemblies?open=1");
    /** @type {{results: {code: string, stage: string, name: string, state: string}[]}} */
    const { results } = await response.json();
    const rows = results.filter((row) => row.code).map((row) => assemblyRow(row, chooser));
    list.replaceChildren(...rows);
    if (!results.length) list.append(make("li", "No assembly is open."));
  } catch {
    list.replaceChildren(make("li", "No connection: scan the assembly's sheet instead."));
  }
}

/**
 * @param {{code: string, stage: string, name: string, state: string}} found
 * @param {HTMLDetailsElement} chooser
 */
function assemblyRow(found, chooser) {
  const row = make("li");
  const choice = coded(`${found.stage} / ${found.name}`, found.code);
  choice.addEventListener("click", () => { chooser.open = false; });
  row.append(choice);
  if (found.state === "in_work") row.append(make("span", "in work", "tag"));
  return row;
}
