/* Metric, US or both, on every page alike. */

const UNITS_KEY = "benchlore-units";

/** @param {string} choice */
function showUnits(choice) {
  document.documentElement.setAttribute("data-bl-units", choice);
  for (const input of all(document, "[data-bl-unit-switch] input")) {
    if (input instanceof HTMLInputElement) {
      input.checked = input.value === choice;
    }
  }
}

/** @returns {string} */
function readUnits() {
  const choice = benchlore.recall(UNITS_KEY);
  return choice === "metric" || choice === "us" ? choice : "both";
}

all(document, "[data-bl-unit-switch]").forEach((field, index) => {
  field.hidden = false;
  for (const input of all(field, "input")) {
    if (input instanceof HTMLInputElement) {
      input.name = "bl-units-" + index;
      input.addEventListener("change", () => {
        benchlore.remember(UNITS_KEY, input.value);
        showUnits(input.value);
      });
    }
  }
});
showUnits(readUnits());
