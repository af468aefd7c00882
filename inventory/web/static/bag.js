// A bag's codes from a scanner that types: every character is kept, separators too.

import { at, input } from "./elements.js";
import { listen } from "./keys.js";
import { Wedge } from "./wedge.js";

const form = /** @type {HTMLFormElement} */ (at("bag"));
const field = input("code");
const wedge = new Wedge();

// What is seen are signs; what is sent are the characters themselves.
function draw() {
  // eslint-disable-next-line no-control-regex -- separators of 2-D codes
  field.value = wedge.text.replace(/[\x00-\x1f]/g, (each) => String.fromCharCode(0x2400 + each.charCodeAt(0)));
}

listen(wedge, {
  elsewhere: "textarea, select, button, a, summary",
  typing: "input:not(#code), textarea, select",
  patient: true,
  sign(sign, now) {
    wedge.add(sign, now);
    draw();
  },
  ended() {
    const text = wedge.text || field.value;
    if (!text) return;
    field.value = encodeURIComponent(text);
    form.requestSubmit();
  },
  rub() {
    if (!wedge.text) return false;
    wedge.text = wedge.text.slice(0, -1);
    draw();
    return true;
  },
  forget() {
    wedge.clear();
    draw();
  },
});

form.addEventListener("submit", () => {
  if (field.value && !/%[0-9A-F]{2}/.test(field.value)) field.value = encodeURIComponent(wedge.text || field.value);
});

input("photo").addEventListener("change", (event) => {
  if (/** @type {HTMLInputElement} */ (event.target).files?.length) form.requestSubmit();
});
