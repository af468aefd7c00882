// Every page: a form is sent once, the page we are on is marked, unsent scans are told.

import { measureScreen, offerTrueSize } from "./truesize.js";
import { showElsewhere } from "./unsent.js";

if (!document.getElementById("bench") && document.querySelector("header.top")) showElsewhere();

/** @type {NodeListOf<HTMLAnchorElement>} */
const links = document.querySelectorAll("nav a");
for (const link of links) {
  const here = location.pathname;
  const there = new URL(link.href).pathname;
  if (there === here || (there !== "/" && here.startsWith(there))) {
    link.setAttribute("aria-current", "page");
  }
}

/** @type {Record<string, (event: KeyboardEvent) => void>} */
const KEYS = {
  "/": goToSearch,
  "?": () => document.querySelector(/** @type {"a"} */ ("footer a"))?.click(),
  ArrowDown: (event) => goAlong(event, 1),
  ArrowUp: (event) => goAlong(event, -1),
};

// '/' goes to the search, '?' to the page's help, arrows along a list; not while somebody types.
document.addEventListener("keydown", (event) => {
  const field = event.target instanceof Element && event.target.closest("input, select, textarea");
  if (field || event.ctrlKey || event.metaKey || event.altKey || document.getElementById("bench")) return;
  KEYS[event.key]?.(event);
});

/**
 * From one row of a list to the next; from outside, the arrows scroll as ever.
 * @param {KeyboardEvent} event
 * @param {number} step
 */
function goAlong(event, step) {
  const rows = [...document.querySelectorAll(/** @type {"a"} */ ("#main .rows a, #main tbody th a"))];
  const at = rows.indexOf(/** @type {HTMLAnchorElement} */ (document.activeElement));
  if (at < 0 || !rows[at + step]) return;
  event.preventDefault();
  rows[at + step].focus();
}

/** @param {KeyboardEvent} event */
function goToSearch(event) {
  const field = /** @type {HTMLInputElement | null} */ (document.getElementById("find"));
  if (!field) return;
  event.preventDefault();
  if (field.offsetParent) field.focus();
  else location.assign("/find/");
}

const BUSY_MS = 6000;

document.addEventListener("submit", (event) => {
  const form = /** @type {HTMLFormElement} */ (event.target);
  // Who signs out would leave scans behind that only this device has.
  if (form.action.endsWith("/sign-out/") && document.querySelector(".unsent-elsewhere a")) {
    event.preventDefault();
    location.assign("/bench/");
    return;
  }
  if (event.defaultPrevented || form.method === "get") return;
  // A download leaves the page standing, to be asked again.
  if (form.dataset.stays !== undefined) return;
  if (form.dataset.sent) {
    event.preventDefault();
    return;
  }
  form.dataset.sent = "1";
  // After the browser has read the pressed button's value.
  setTimeout(() => setButtons(form, true), 0);
  // An answer may never come.
  setTimeout(() => release(form), BUSY_MS);
});

// The page may come back from the browser's memory with its forms still marked.
addEventListener("pageshow", () => document.querySelectorAll("form").forEach(release));

/** @param {HTMLFormElement} form */
function release(form) {
  delete form.dataset.sent;
  setButtons(form, false);
}

/**
 * @param {HTMLFormElement} form
 * @param {boolean} busy
 */
function setButtons(form, busy) {
  for (const button of form.querySelectorAll("button")) {
    if (busy && !button.disabled) {
      button.dataset.busy = "1";
      button.disabled = true;
    } else if (!busy && button.dataset.busy) {
      delete button.dataset.busy;
      button.disabled = false;
    }
  }
}

// Last, as a browser may refuse to remember anything.
offerTrueSize(document.body);
if (document.getElementById("screen")) measureScreen();
