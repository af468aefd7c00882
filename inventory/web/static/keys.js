// Keys, wherever the focus is: a scanner's or a finger's, made into one text.

import { about } from "./elements.js";
import { character } from "./wedge.js";

/**
 * Listens to every key of the page. `elsewhere` is what has keys of its own: Enter and space
 * are left to it while no text has begun. `typing` is where other text is typed: keys are
 * left to it unless they come as fast as a scanner's. `patient` takes separators also from
 * a slow scanner.
 * @param {import("./wedge.js").Wedge} wedge
 * @param {{
 *   elsewhere: string, typing?: string, patient?: boolean,
 *   sign(sign: string, now: number): void, ended(at: number): void,
 *   rub(): boolean, forget(): void, awake?(): void, garbled?(): void,
 * }} on
 */
export function listen(wedge, on) {
  window.addEventListener("keydown", (event) => {
    on.awake?.();
    if (event.isComposing || event.keyCode === 229) {
      if (event.code) on.garbled?.();
      return;
    }
    const now = performance.now();
    const burst = wedge.inBurst(now);
    if (!burst && on.typing && about(event, on.typing)) return;
    pressed(event, now, burst);
  }, { capture: true });

  /** @type {(event: KeyboardEvent, now: number, burst: boolean) => void} */
  function pressed(event, now, burst) {
    const left = !wedge.text && about(event, on.elsewhere) !== null;
    if (event.key === "Enter" || (event.key === "Tab" && burst)) {
      if (left) return;
      swallow(event);
      if (!event.repeat) on.ended(event.timeStamp);
    } else if (event.ctrlKey || event.altKey || event.metaKey) {
      separator(event, now, burst);
    } else if (event.key === "Escape") {
      swallow(event);
      on.forget();
    } else if (event.key === "Backspace") {
      if (on.rub()) swallow(event);
    } else {
      const sign = event.code ? character(event) : "";
      if (!sign || (sign === " " && left)) return;
      swallow(event);
      on.sign(sign, now);
    }
  }

  // A line feed amid a scan (Ctrl and J) is no key of the browser's either.
  /** @type {(event: KeyboardEvent, now: number, burst: boolean) => void} */
  function separator(event, now, burst) {
    const sign = burst || (on.patient && wedge.text) ? wedge.control(event) : "";
    if (sign || (event.ctrlKey && event.code === "KeyJ" && burst)) swallow(event);
    if (sign) on.sign(sign, now);
  }
}

/** @param {Event} event */
function swallow(event) {
  event.preventDefault();
  event.stopPropagation();
}
