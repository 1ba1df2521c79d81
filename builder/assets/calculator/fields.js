/* What stands in the fields of a calculator. */

class Fields {
  /** @param {HTMLFormElement} form */
  constructor(form) {
    this.form = form;
    this.list = all(form, "[data-bl-input]");
  }

  /** @param {Element} field */
  static nameOf(field) {
    return attribute(field, "data-bl-input");
  }

  /** @param {Element} field */
  static labelOf(field) {
    return attribute(field, "data-bl-label");
  }

  /** @param {Element} field */
  static hasRows(field) {
    return field.matches(".bl-rows");
  }

  /**
   * @param {Element} part A field, or a cell of a row.
   * @returns {Control}
   */
  static controlIn(part) {
    const found = part.querySelector("input, select:not([data-bl-unit])");
    return /** @type {Control} */ (found);
  }

  /**
   * @param {Element} part
   * @returns {Control[]}
   */
  static controlsOf(part) {
    return /** @type {Control[]} */ (all(part, "input, select:not([data-bl-unit])"));
  }

  /**
   * Finds where the unit of a part is chosen: beside it, or once for a whole column.
   * @param {Element} part
   * @returns {HTMLSelectElement | null}
   */
  static unitFor(part) {
    const own = /** @type {HTMLSelectElement | null} */ (part.querySelector("[data-bl-unit]"));
    const field = part.closest("[data-bl-input]");
    if (own || !field || !part.hasAttribute("data-bl-column")) {
      return own;
    }
    const column = attribute(part, "data-bl-column");
    return field.querySelector("[data-bl-unit-of='" + column + "'] select");
  }

  /**
   * Lists the rows of a field.
   * @param {Element} field
   */
  static rowsOf(field) {
    return all(field, ".bl-row");
  }

  /** @param {string} name */
  find(name) {
    return this.list.find((field) => Fields.nameOf(field) === name);
  }

  /** @param {Element} part */
  static readPart(part) {
    const unit = Fields.unitFor(part);
    const chosen = unit && unit.value ? unit.selectedOptions[0].textContent || "" : "";
    return benchlore.twin.join_typed(Fields.controlIn(part).value, chosen);
  }

  /**
   * @param {Element} field
   * @returns {Typed}
   */
  static readField(field) {
    if (!Fields.hasRows(field)) {
      return Fields.readPart(field);
    }
    return Fields.rowsOf(field).map((row) => {
      /** @type {Record<string, string>} */
      const cells = {};
      for (const cell of all(row, "[data-bl-column]")) {
        cells[attribute(cell, "data-bl-column")] = Fields.readPart(cell);
      }
      return cells;
    });
  }

  /** @returns {Record<string, Typed>} What was typed, by input. */
  readAll() {
    return Object.fromEntries(
      this.list.map((field) => [Fields.nameOf(field), Fields.readField(field)]),
    );
  }
}
