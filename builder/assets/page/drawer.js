/* The drawer of small screens: it opens without this script, and closes more easily with it. */

for (const found of all(document, "[data-bl-drawer]")) {
  const drawer = /** @type {HTMLDetailsElement} */ (found);

  /** @param {boolean} focus Whether the button that opens it is to have the focus. */
  const shut = (focus) => {
    if (drawer.open) {
      drawer.open = false;
      if (focus) {
        one(drawer, "summary").focus();
      }
    }
  };

  drawer.addEventListener("keydown", (event) => {
    if (event.key === "Escape") {
      shut(true);
    }
  });
  document.addEventListener("click", (event) => {
    const target = /** @type {Element} */ (event.target);
    if (!drawer.contains(target) || target.closest("a")) {
      shut(false);
    }
  });
  drawer.addEventListener("focusout", (event) => {
    if (event.relatedTarget instanceof Node && !drawer.contains(event.relatedTarget)) {
      shut(false);
    }
  });
}
