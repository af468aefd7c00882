// What the bench sees: a photo of a label, or the live camera.

import { Camera, isAllowed } from "./camera.js";
import { at, chosenFile, coded, input } from "./elements.js";
import { named } from "./meaning.js";
import { readPhoto } from "./sending.js";
import { say } from "./speaking.js";
import { state } from "./state.js";

/** @param {(code: string) => void} take */
export function see(take) {
  input("photo").addEventListener("change", async (event) => {
    const photo = chosenFile(event);
    if (!photo) return;
    say("neutral", "Reading the photo…");
    try {
      const { ok, answer } = await readPhoto(photo);
      if (ok) chosen(answer, take);
      else say("stop", answer.detail || "The photo could not be read.");
    } catch {
      say("stop", "The photo was not sent: no connection. Take it again, or type the code.");
    }
  });
  watch(take);
}

/**
 * @param {{codes: {text: string, kind: string}[], sentence: string}} answer
 * @param {(code: string) => void} take
 */
function chosen(answer, take) {
  const own = answer.codes.filter((row) => row.kind === "own");
  at("found").replaceChildren();
  at("found").hidden = own.length < 2;
  if (own.length === 1) {
    take(own[0].text);
  } else if (own.length) {
    say("neutral", "Several labels are in the photo: which one?");
    at("found").append(...own.map(({ text }) => coded(named(text, state.twin?.known.shop), text)));
  } else {
    const other = answer.codes.length ? "That is no code of this shop." : answer.sentence;
    say("stop", other || "No code was found in the photo.");
  }
}

/** @param {(code: string) => void} take */
function watch(take) {
  const list = /** @type {HTMLSelectElement} */ (at("cameras"));
  const camera = new Camera(/** @type {HTMLVideoElement} */ (at("video")), {
    code: take,
    trouble: (sentence) => say("stop", sentence),
    cameras(found, current) {
      list.hidden = found.length < 2;
      list.replaceChildren(...found.map((each, number) => {
        const option = new Option(each.label || `Camera ${number + 1}`, each.deviceId);
        option.selected = each.deviceId === current;
        return option;
      }));
    },
  });
  list.addEventListener("change", () => camera.choose(list.value));
  at("camera").hidden = !isAllowed();
  at("camera").addEventListener("click", async () => {
    const started = camera.running ? camera.stop() : await camera.start();
    at("viewer").hidden = !started;
    at("camera").textContent = started ? "Camera off" : "Camera";
  });
}
