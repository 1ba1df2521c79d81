/* The events of calculators. The scripts of the calculators themselves come after this one. */

/** @param {Calculator} calculator */
function wireTyping(calculator) {
  const { form, filling } = calculator;
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("input", (event) => {
    const control = /** @type {Control} */ (event.target);
    if (!control.matches("[data-bl-unit]")) {
      filling.own(control);
      calculator.updateAndAnnounce();
    }
  });
  form.addEventListener("change", (event) => {
    const control = /** @type {Control} */ (event.target);
    if (control instanceof HTMLSelectElement && control.matches("[data-bl-unit]")) {
      filling.changeUnit(control);
      calculator.updateAndAnnounce();
    }
  });
  form.addEventListener("focusout", () => {
    if (calculator.root.matches(".bl-refused")) {
      // Not at once: a message that comes up would move what is being pressed.
      const errors = benchlore.calculate(calculator.id, calculator.given).errors || [];
      calculator.complaints.later(errors, COMPLAIN_ON_LEAVING_MS);
    }
  });
}

/** @param {Calculator} calculator */
function wireRows(calculator) {
  const { form, filling } = calculator;
  form.addEventListener("keydown", (event) => {
    const control = /** @type {Element} */ (event.target);
    const row = control.closest(".bl-row");
    if (event.key === "Enter" && row && control.matches("input")) {
      event.preventDefault();
      calculator.goOn(row);
    }
  });
  form.addEventListener("paste", (event) => {
    const row = /** @type {Element} */ (event.target).closest(".bl-row");
    const field = row && row.closest("[data-bl-input]");
    const text = event.clipboardData ? event.clipboardData.getData("text") : "";
    if (row && field && filling.paste(field, row, text)) {
      event.preventDefault();
      calculator.updateAndAnnounce();
    }
  });
}

/** @param {Calculator} calculator */
function wirePresses(calculator) {
  calculator.form.addEventListener("click", (event) => {
    const button = /** @type {Element} */ (event.target).closest("button, a");
    const field = button && button.closest("[data-bl-input]");
    const row = button && button.closest(".bl-row");
    if (!button) {
      return;
    }
    if (field && button.hasAttribute("data-bl-add")) {
      calculator.addRow(field);
    } else if (field && row && button.hasAttribute("data-bl-remove")) {
      calculator.removeRow(field, row);
    } else if (button.hasAttribute("data-bl-reset")) {
      calculator.reset();
    } else if (button.hasAttribute("data-bl-print")) {
      window.print();
    } else if (button.hasAttribute("data-bl-link")) {
      calculator.copyLink();
    }
  });
}

/** @param {Calculator} calculator */
function wirePage(calculator) {
  document.addEventListener("change", (event) => {
    const control = /** @type {Control} */ (event.target);
    if (control.closest("[data-bl-unit-switch]")) {
      calculator.followSystem(control.value);
    }
  });
  const { link, root } = calculator;
  if (!link) {
    return;
  }
  window.addEventListener("hashchange", () => {
    if (hashHoldsValues() && location.hash !== link.hash) {
      calculator.fillFrom(location.hash);
    }
  });
  document.addEventListener("click", (event) => {
    const to = /** @type {Element} */ (event.target).closest("[data-bl-fill]");
    if (to) {
      const values = attribute(to, "data-bl-fill");
      replaceHash("#" + values);
      calculator.fillFrom(values);
      root.tabIndex = -1;
      root.focus();
      root.scrollIntoView();
    }
  });
}

document.addEventListener("DOMContentLoaded", () => {
  all(document, "[data-bl-calculator]").forEach((root, number) => {
    const calculator = new Calculator(root, number);
    wireTyping(calculator);
    wireRows(calculator);
    wirePresses(calculator);
    wirePage(calculator);
    calculator.begin();
  });
});
