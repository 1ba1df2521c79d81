/* Values put into fields by us, and their units. Our own numbers are converted when the unit
   changes; what a reader typed stays. */

class Filling {
  /**
   * @param {string} id Of the calculator.
   * @param {Fields} fields
   */
  constructor(id, fields) {
    this.id = id;
    this.fields = fields;
    this.rows = new Rows(() => this.rememberUnits());
    this.rows.keepStart(fields.list);
    /** @type {WeakSet<Control>} Controls that hold a value of ours. */
    this.ours = new WeakSet();
    /** @type {WeakSet<Control>} Controls that hold an example of ours, for nobody's batch. */
    this.examples = new WeakSet();
    /** @type {Set<string>} Names of the fields that are not as at first. */
    this.touched = new Set();
    /** @type {WeakMap<HTMLSelectElement, string>} The unit that was chosen before. */
    this.before = new WeakMap();
  }

  /** @returns {HTMLSelectElement[]} */
  get units() {
    return /** @type {HTMLSelectElement[]} */ (all(this.fields.form, "[data-bl-unit]"));
  }

  rememberUnits() {
    for (const unit of this.units) {
      this.before.set(unit, unit.value);
    }
  }

  restore() {
    this.fields.form.reset();
    for (const field of this.fields.list) {
      this.rows.restore(field);
    }
    this.touched.clear();
    for (const field of this.fields.list) {
      for (const control of Fields.controlsOf(field)) {
        this.ours.add(control);
        if (field.querySelector("[data-bl-example]")) {
          this.examples.add(control);
        }
      }
    }
    this.rememberUnits();
  }

  /**
   * Notes that a reader has filled in a control; the whole row is then the reader's.
   * @param {Control} control
   */
  own(control) {
    const field = /** @type {Element} */ (control.closest("[data-bl-input]"));
    this.ours.delete(control);
    this.touched.add(Fields.nameOf(field));
    for (const each of Fields.controlsOf(control.closest(".bl-row") || field)) {
      this.examples.delete(each);
    }
  }

  /** @param {Element} field */
  holdsExample(field) {
    return Fields.controlsOf(field).some((control) => this.examples.has(control));
  }

  /** @param {Element} field */
  isUntouched(field) {
    return this.holdsExample(field) && !this.touched.has(Fields.nameOf(field));
  }

  /**
   * Fills in what an address holds.
   * @param {string} hash
   */
  fillFrom(hash) {
    this.restore();
    for (const [name, typed] of readHash(hash)) {
      const field = this.fields.find(name);
      if (field) {
        this.setField(field, typed);
      }
    }
    this.rememberUnits();
  }

  /**
   * @param {Element} field
   * @param {string} typed
   */
  setField(field, typed) {
    this.touched.add(Fields.nameOf(field));
    if (!Fields.hasRows(field)) {
      this.setPart(field, typed);
      return;
    }
    Rows.listIn(field).textContent = "";
    for (const cells of benchlore.partRows(this.id, Fields.nameOf(field), typed)) {
      this.setRow(field, this.rows.add(field), cells);
    }
  }

  /**
   * @param {Element} field
   * @param {Element} row
   * @param {string[]} cells
   */
  setRow(field, row, cells) {
    const alone = Rows.listIn(field).children.length === 1;
    all(row, "[data-bl-column]").forEach((cell, index) => {
      const unit = Fields.unitFor(cell);
      if (unit && !cell.contains(unit) && alone) {
        const units = Filling.listUnits(unit, cell);
        unit.value = benchlore.partTyped(this.id, cells[index] || "", units)[1] || unit.value;
      }
      this.setPart(cell, cells[index] || "");
    });
  }

  /**
   * Spreads what was copied from a list or a spreadsheet over rows and columns; our examples go.
   * @param {Element} field
   * @param {Element} row Where it was pasted.
   * @param {string} text
   * @returns {boolean} Whether it was a list.
   */
  paste(field, row, text) {
    const parts = benchlore.partRows(this.id, Fields.nameOf(field), text);
    if (parts.length < 2 && !text.includes("\t")) {
      return false;
    }
    let at = row;
    if (this.holdsExample(field)) {
      Rows.listIn(field).textContent = "";
      at = this.rows.add(field);
    }
    parts.forEach((cells, index) => {
      if (index) {
        at = at.nextElementSibling || this.rows.add(field);
      }
      this.setRow(field, at, cells);
      Fields.controlsOf(at).forEach((control) => this.own(control));
    });
    Rows.goTo(at);
    return true;
  }

  /**
   * @param {Element} part
   * @param {string} typed
   */
  setPart(part, typed) {
    const control = Fields.controlIn(part);
    this.examples.delete(control);
    if (control instanceof HTMLSelectElement) {
      Filling.setChoice(control, typed);
      return;
    }
    const unit = Fields.unitFor(part);
    let [number, key] = benchlore.partTyped(this.id, typed, Filling.listUnits(unit, part));
    if (unit && !part.contains(unit)) {
      // The unit is that of a whole column; a cell in another one is written with its own.
      number = key && key !== unit.value ? typed : number;
    } else if (unit) {
      key = key || (benchlore.twin.is_bare(typed) ? "" : unit.value);
      unit.value = key;
    }
    control.value = number;
    this.ours.add(control);
  }

  /**
   * @param {HTMLSelectElement} control
   * @param {string} typed
   */
  static setChoice(control, typed) {
    const wanted = typed.trim().toLowerCase();
    const found = Array.from(control.options).find(
      (option) => option.value === wanted || (option.textContent || "").toLowerCase() === wanted,
    );
    control.value = found ? found.value : "";
  }

  /**
   * @param {HTMLSelectElement | null} unit
   * @param {Element} part
   * @returns {string[]}
   */
  static listUnits(unit, part) {
    if (unit) {
      return Array.from(unit.options).map((option) => option.value);
    }
    const fixed = part.matches("[data-bl-fixed]") ? part : part.querySelector("[data-bl-fixed]");
    return fixed ? [attribute(fixed, "data-bl-fixed")] : [];
  }

  /** @param {HTMLSelectElement} unit */
  changeUnit(unit) {
    const column = unit.closest("[data-bl-unit-of]");
    const own = unit.closest("[data-bl-column]") || unit.closest("[data-bl-input]");
    const part = /** @type {Element} */ (own);
    const parts = column
      ? all(part, "[data-bl-column='" + attribute(column, "data-bl-unit-of") + "']")
      : [part];
    for (const each of parts) {
      const input = Fields.controlIn(each);
      if (this.ours.has(input) && benchlore.twin.is_bare(input.value)) {
        const typed = benchlore.twin.join_typed(input.value, this.before.get(unit) || "");
        input.value = benchlore.convertTyped(this.id, typed, unit.value) || input.value;
      }
    }
    this.before.set(unit, unit.value);
  }

  /**
   * Goes over to a system of units, where nothing has been typed yet.
   * @param {string} system
   */
  followSystem(system) {
    for (const unit of this.units) {
      if (!unit.hasAttribute("data-bl-us")) {
        continue;
      }
      const wanted = attribute(unit, system === "us" ? "data-bl-us" : "data-bl-metric");
      const field = /** @type {Element} */ (unit.closest("[data-bl-input]"));
      const inputs = /** @type {HTMLInputElement[]} */ (all(field, "input"));
      if (unit.value !== wanted && inputs.every((input) => this.ours.has(input))) {
        unit.value = wanted;
        this.changeUnit(unit);
      }
    }
  }
}
