// Drawings at true size on this screen, to lay the fastener on them. How many dots its inch
// has is learned once, from a card whose size everybody knows.

import { at, button, input } from "./elements.js";

// ISO/IEC 7810, the format of bank cards (ID-1): its short side fits across a phone.
const CARD_IN = 53.98 / 25.4;
const REMEMBERED = "dots-per-inch";

/** How many of the screen's own dots one of the page's has, as it is zoomed now. */
function zoom() {
  return devicePixelRatio * (visualViewport?.scale ?? 1);
}

/** The page's dots to an inch of this screen; 0 while nobody laid a card on it. */
export function dotsPerInch() {
  return (Number(localStorage.getItem(REMEMBERED)) || 0) / zoom();
}

/**
 * Each drawing in here gets a button, where this screen's size is known.
 * @param {Element} root
 */
export function offerTrueSize(root) {
  const figures = root.querySelectorAll(".drawing");
  if (!figures.length || !dotsPerInch()) return;
  for (const figure of figures) {
    const svg = figure.querySelector("svg");
    if (svg) figure.append(toggle(figure, svg));
  }
}

/**
 * @param {Element} figure
 * @param {SVGSVGElement} svg
 */
function toggle(figure, svg) {
  const press = button("True size");
  const scale = figure.querySelector(".scale");
  const before = scale?.textContent ?? "";
  press.addEventListener("click", () => {
    const isTrue = figure.classList.toggle("true-size");
    // The view box is in thousandths of an inch.
    svg.style.width = isTrue ? `${svg.viewBox.baseVal.width / 1000 * dotsPerInch()}px` : "";
    press.textContent = isTrue ? "As it was" : "True size";
    if (scale) scale.textContent = isTrue ? "true size on this screen" : before;
  });
  return press;
}

// On the page of one's own sign-in: a bar, to be made as long as the card.
export function measureScreen() {
  const bar = at("card-bar");
  const length = input("card-length");
  at("screen").hidden = false;
  if (dotsPerInch()) length.value = String(Math.round(dotsPerInch() * CARD_IN));
  const show = () => { bar.style.width = `${length.value}px`; };
  length.addEventListener("input", show);
  for (const step of document.querySelectorAll(/** @type {"button"} */ ("#screen [data-step]"))) {
    step.addEventListener("click", () => {
      length.value = String(Number(length.value) + Number(step.dataset.step));
      show();
    });
  }
  at("card-keep").addEventListener("click", () => {
    localStorage.setItem(REMEMBERED, String(Number(length.value) / CARD_IN * zoom()));
    at("card-said").textContent = "Kept: drawings on this screen have a button 'True size' now.";
  });
  at("card-forget").addEventListener("click", () => {
    localStorage.removeItem(REMEMBERED);
    at("card-said").textContent = "Forgotten: no drawing is shown at true size here.";
  });
  show();
}
