/* What a calculator refuses: said at the field, and listed where the answer would stand. */

class Complaints {
  /**
   * @param {HTMLElement} root
   * @param {Fields} fields
   */
  constructor(root, fields) {
    this.root = root;
    this.fields = fields;
    this.refusal = one(root, "[data-bl-refusal]");
    this.timer = 0;
    this.made = false;
  }

  /**
   * Takes up a result. Someone who is still typing is not told off for half a number.
   * @param {CalculationError[]} errors
   */
  take(errors) {
    this.root.classList.toggle("bl-refused", errors.length > 0);
    this.point(errors);
    const typing = errors.some((error) => {
      const field = this.fields.find(error.input);
      return field !== undefined && field.contains(document.activeElement);
    });
    if (typing && !this.made) {
      this.later(errors, COMPLAIN_AFTER_MS);
    } else {
      window.clearTimeout(this.timer);
      this.make(errors);
    }
  }

  /**
   * @param {CalculationError[]} errors
   * @param {number} wait
   */
  later(errors, wait) {
    window.clearTimeout(this.timer);
    this.timer = window.setTimeout(() => this.make(errors), wait);
  }

  /** @param {CalculationError[]} errors */
  make(errors) {
    if (!errors.length && !this.made) {
      return;
    }
    this.made = errors.length > 0;
    for (const field of this.fields.list) {
      const error = errors.find((each) => each.input === Fields.nameOf(field));
      const said = one(field, "[data-bl-said]");
      write(said, error ? error.message : "");
      said.hidden = !error;
      const row = error && Complaints.findRow(field, error);
      for (const control of Complaints.controlsIn(field)) {
        if (error && (!row || row.contains(control))) {
          control.setAttribute("aria-invalid", "true");
        } else {
          control.removeAttribute("aria-invalid");
        }
      }
    }
  }

  /**
   * Finds the row that an error is about; rows that are empty are not counted.
   * @param {Element} field
   * @param {CalculationError} error
   */
  static findRow(field, error) {
    const filled = Fields.rowsOf(field).filter((row) =>
      Complaints.controlsIn(row).some((control) => control.value),
    );
    return error.row ? filled[error.row - 1] : undefined;
  }

  /**
   * @param {Element} part
   * @returns {Control[]}
   */
  static controlsIn(part) {
    return /** @type {Control[]} */ (all(part, "input, select:not([data-bl-unit])"));
  }

  /**
   * Lists the fields to look at, in place of an answer.
   * @param {CalculationError[]} errors
   */
  point(errors) {
    this.refusal.textContent = "";
    const list = document.createElement("span");
    for (const error of errors) {
      const field = this.fields.find(error.input);
      if (!field) {
        this.refusal.textContent = error.message;
        this.refusal.hidden = false;
        return;
      }
      const to = benchlore.dom.makeButton(Fields.labelOf(field), () => {
        const wrong = field.querySelector("[aria-invalid]");
        (wrong instanceof HTMLElement ? wrong : Fields.controlIn(field)).focus();
      });
      to.className = "bl-to-field";
      list.append(list.childNodes.length ? ", " : "", to);
    }
    if (errors.length) {
      this.refusal.append(benchlore.words("calculator.look-at") + " ", list);
    }
    this.refusal.hidden = !errors.length;
  }
}
