// The page's elements: found by their id, and made.

/** @param {string} id */
export function at(id) {
  const found = document.getElementById(id);
  if (!found) throw new Error(`The page has no '${id}'`);
  return found;
}

/** @param {string} id */
export function input(id) {
  return /** @type {HTMLInputElement} */ (at(id));
}

/**
 * The element that an event is about, if it is one of these.
 * @param {Event} event
 * @param {string} selector
 * @returns {HTMLElement | null}
 */
export function about(event, selector) {
  return event.target instanceof Element ? event.target.closest(selector) : null;
}

/**
 * The file that was just chosen; choosing it once more is news again.
 * @param {Event} event
 */
export function chosenFile(event) {
  const field = /** @type {HTMLInputElement} */ (event.target);
  const file = field.files?.[0];
  field.value = "";
  return file;
}

/**
 * @template {keyof HTMLElementTagNameMap} Tag
 * @param {Tag} tag
 */
export function make(tag, text = "", kind = "") {
  const element = document.createElement(tag);
  element.textContent = text;
  if (kind) element.className = kind;
  return element;
}

/** @param {string} text */
export function button(text, kind = "second") {
  const made = make("button", text, kind);
  made.type = "button";
  return made;
}

/**
 * A button that says what its code would say, scanned.
 * @param {string} text
 * @param {string} code
 */
export function coded(text, code) {
  const made = button(text);
  made.dataset.code = code;
  return made;
}

/** @param {number | string} when */
export function hour(when) {
  return new Date(when).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
}
