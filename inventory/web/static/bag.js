// A bag's codes from a scanner that types: every character is kept, separators too.

import { character, Wedge } from "./wedge.js";

const form = document.getElementById("bag");
const field = document.getElementById("code");
const photo = document.getElementById("photo");
const wedge = new Wedge();

function send(text) {
  field.value = encodeURIComponent(text);
  form.requestSubmit();
}

// What is seen are signs; what is sent are the characters themselves.
function draw() {
  field.value = wedge.text.replace(/[\x00-\x1f]/g, (each) => String.fromCharCode(0x2400 + each.charCodeAt(0)));
}

window.addEventListener("keydown", (event) => {
  const now = performance.now();
  const elsewhere = event.target.closest("input:not(#code), textarea, select, button, a, summary");
  if (elsewhere && !wedge.inBurst(now)) return;
  if (event.key === "Enter" || (event.key === "Tab" && wedge.inBurst(now))) {
    if (!wedge.text && !field.value) return;
    event.preventDefault();
    send(wedge.text || field.value);
    return;
  }
  const control = wedge.text ? wedge.control(event) : "";
  if (control || (event.ctrlKey && event.code === "KeyJ" && wedge.inBurst(now))) {
    event.preventDefault();
    if (control) wedge.add(control, now);
    return;
  }
  if (event.ctrlKey || event.altKey || event.metaKey) return;
  if (event.key === "Backspace") {
    if (!wedge.text) return;
    event.preventDefault();
    wedge.text = wedge.text.slice(0, -1);
    draw();
    return;
  }
  const sign = event.code ? character(event) : "";
  if (!sign) return;
  event.preventDefault();
  wedge.add(sign, now);
  draw();
}, { capture: true });

form.addEventListener("submit", () => {
  if (field.value && !/%[0-9A-F]{2}/.test(field.value)) field.value = encodeURIComponent(wedge.text || field.value);
});

photo.addEventListener("change", () => {
  if (photo.files.length) form.requestSubmit();
});
