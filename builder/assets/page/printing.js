/* Folded text is printed open, and folded again afterwards. */

/** @type {HTMLDetailsElement[]} */
let folded = [];

window.addEventListener("beforeprint", () => {
  folded = Array.from(document.querySelectorAll("details")).filter(
    (part) => !part.open && part.closest(".bl"),
  );
  for (const part of folded) {
    part.open = true;
  }
});
window.addEventListener("afterprint", () => {
  for (const part of folded) {
    part.open = false;
  }
});
