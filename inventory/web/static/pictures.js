// What a mark of a picture says stands under it while it is pointed at, pressed or reached.

for (const picture of document.querySelectorAll(".picture")) {
  const said = picture.querySelector(".says");
  if (!said) continue;
  /** @param {Event} event */
  const say = (event) => {
    const mark = event.target instanceof Element && event.target.closest(".mark");
    if (mark) said.textContent = mark.getAttribute("aria-label");
  };
  for (const kind of ["pointerover", "pointerdown", "focusin"]) picture.addEventListener(kind, say);
}
