/* Rows of a field: added, removed, numbered. */

class Rows {
  /** @param {(field: Element) => void} added Called when a row has come. */
  constructor(added) {
    this.added = added;
    /** @type {Map<Element, string>} How the rows of each field stood at first. */
    this.start = new Map();
  }

  /** @param {Element[]} fields */
  keepStart(fields) {
    for (const field of fields) {
      if (Fields.hasRows(field)) {
        this.start.set(field, Rows.listIn(field).innerHTML);
      }
    }
  }

  /** @param {Element} field */
  restore(field) {
    const start = this.start.get(field);
    if (start !== undefined) {
      Rows.listIn(field).innerHTML = start;
      Rows.renumber(field);
    }
  }

  /** @param {Element} field */
  static listIn(field) {
    return one(field, "[data-bl-rows]");
  }

  /** @param {Element} field */
  static renumber(field) {
    const rows = Fields.rowsOf(field);
    rows.forEach((row, index) => {
      const group = /** @type {Element} */ (row.firstElementChild);
      const n = index + 1;
      const label = Fields.labelOf(field);
      group.setAttribute("aria-label", benchlore.words("calculator.row", { label, n }));
      const remove = one(group, "[data-bl-remove]");
      remove.setAttribute("aria-label", benchlore.words("calculator.remove-row", { n }));
    });
    one(field, "[data-bl-add]").hidden = rows.length >= Number(attribute(field, "data-bl-most"));
  }

  /**
   * @param {Element} field
   * @returns {HTMLElement} The new row.
   */
  add(field) {
    const template = /** @type {HTMLTemplateElement} */ (field.querySelector("template"));
    const pattern = /** @type {HTMLElement} */ (template.content.firstElementChild);
    const row = /** @type {HTMLElement} */ (pattern.cloneNode(true));
    const list = Rows.listIn(field);
    const last = list.lastElementChild;
    if (last) {
      const units = /** @type {HTMLSelectElement[]} */ (all(last, "[data-bl-unit]"));
      /** @type {HTMLSelectElement[]} */ (all(row, "[data-bl-unit]")).forEach((unit, index) => {
        unit.value = units[index].value;
      });
    }
    list.append(row);
    Rows.renumber(field);
    this.added(field);
    return row;
  }

  /** @param {Element} row */
  static goTo(row) {
    Fields.controlIn(row).focus();
  }

  /**
   * @param {Element} field
   * @param {Element} row
   */
  remove(field, row) {
    const next = row.nextElementSibling || row.previousElementSibling;
    row.remove();
    Rows.goTo(next || this.add(field));
    Rows.renumber(field);
  }
}
