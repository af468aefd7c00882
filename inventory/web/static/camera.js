// The live camera, where the browser allows one: its own detector, else frames sent home.

import { readPhoto } from "./sending.js";

const PAUSE_MS = 200;
// A label must have left the picture for so long before it counts as scanned again.
const GONE_MS = 1500;
const REMEMBERED = "gripcount-camera";

export function isAllowed() {
  return Boolean(navigator.mediaDevices?.getUserMedia);
}

export class Camera {
  /**
   * @param {HTMLVideoElement} video
   * @param {{
   *   code(text: string): void, trouble(sentence: string): void,
   *   cameras(list: MediaDeviceInfo[], chosen: string | undefined): void,
   * }} on
   */
  constructor(video, on) {
    this.video = video;
    this.on = on;
    /** @type {Map<string, number>} */
    this.seen = new Map();
    /** @type {MediaStream | null} */
    this.stream = null;
    /** @type {Awaited<ReturnType<typeof ownDetector>>} */
    this.detector = null;
    this.running = false;
  }

  /** @returns {Promise<boolean>} */
  async start(wanted = localStorage.getItem(REMEMBERED) || "") {
    this.stop();
    const size = { width: { ideal: 1920 }, height: { ideal: 1080 } };
    const which = wanted ? { deviceId: { exact: wanted } } : { facingMode: "environment" };
    try {
      this.stream = await navigator.mediaDevices.getUserMedia({ video: { ...size, ...which } });
    } catch (error) {
      if (wanted) {
        localStorage.removeItem(REMEMBERED);
        return this.start("");
      }
      this.on.trouble(`The camera did not start (${error instanceof Error ? error.name : error}): allow it, or take a photo instead.`);
      return false;
    }
    this.video.srcObject = this.stream;
    await this.video.play();
    await this.list();
    this.running = true;
    this.detector = await ownDetector();
    this.look();
    return true;
  }

  /** @returns {false} */
  stop() {
    this.running = false;
    for (const track of this.stream?.getTracks() || []) track.stop();
    this.stream = null;
    this.video.srcObject = null;
    return false;
  }

  /** @param {string} id */
  choose(id) {
    localStorage.setItem(REMEMBERED, id);
    return this.start(id);
  }

  async list() {
    const all = await navigator.mediaDevices.enumerateDevices();
    const chosen = this.stream?.getVideoTracks()[0]?.getSettings().deviceId;
    this.on.cameras(all.filter((each) => each.kind === "videoinput"), chosen);
  }

  async look() {
    if (!this.running) return;
    try {
      for (const text of await this.read()) this.found(text, performance.now());
    } catch {
      // A frame that could not be sent or read: the next one may be.
    }
    setTimeout(() => this.look(), PAUSE_MS);
  }

  /**
   * @param {string} text
   * @param {number} now
   */
  found(text, now) {
    const before = this.seen.get(text);
    this.seen.set(text, now);
    if (before === undefined || now - before > GONE_MS) this.on.code(text);
  }

  async read() {
    if (this.video.readyState < 2) return [];
    if (this.detector) {
      const found = await this.detector.detect(this.video);
      return found.map((each) => each.rawValue);
    }
    return readAtHome(await this.frame());
  }

  /** @returns {Promise<Blob>} */
  frame() {
    const canvas = document.createElement("canvas");
    canvas.width = this.video.videoWidth;
    canvas.height = this.video.videoHeight;
    canvas.getContext("2d")?.drawImage(this.video, 0, 0);
    return new Promise((resolve, reject) => {
      canvas.toBlob((made) => (made ? resolve(made) : reject(new Error("no picture"))), "image/jpeg", 0.85);
    });
  }
}

async function ownDetector() {
  if (!window.BarcodeDetector) return null;
  const known = await window.BarcodeDetector.getSupportedFormats();
  const wanted = ["code_128", "qr_code"];
  return wanted.every((each) => known.includes(each)) ? new window.BarcodeDetector({ formats: wanted }) : null;
}

/** @param {Blob} picture */
async function readAtHome(picture) {
  const { ok, answer } = await readPhoto(picture);
  if (!ok) return [];
  /** @type {{kind: string, text: string}[]} */
  const codes = answer.codes;
  return codes.filter((row) => row.kind === "own").map((row) => row.text);
}
