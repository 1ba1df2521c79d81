/* What the host's own parts lack for the keyboard and for readers that speak. */

// Where the host marks neither light nor dark, the keyboard must find the one that holds.
for (const option of all(document, ".md-header__option")) {
  option.addEventListener("focusin", () => {
    const scheme = attribute(document.body, "data-md-color-scheme");
    const holds = option.querySelector("input[data-md-color-scheme='" + scheme + "']");
    if (holds instanceof HTMLInputElement && !option.querySelector("input:checked")) {
      holds.checked = true;
      holds.focus();
    }
  });
}

for (const dialog of all(document, ".md-search[role='dialog']")) {
  if (!dialog.hasAttribute("aria-label")) {
    dialog.setAttribute("aria-label", "Search");
  }
}
