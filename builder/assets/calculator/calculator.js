/* One calculator of a page: fields, answers, plot and link, wired together. */

class Calculator {
  /**
   * @param {HTMLElement} root
   * @param {number} number Which of the page's calculators it is.
   */
  constructor(root, number) {
    this.root = root;
    this.id = attribute(root, "data-bl-calculator");
    this.number = number;
    this.form = /** @type {HTMLFormElement} */ (one(root, "form"));
    this.fields = new Fields(this.form);
    this.filling = new Filling(this.id, this.fields);
    this.answers = new Answers(root);
    this.complaints = new Complaints(root, this.fields);
    this.status = one(root, "[data-bl-announce]");
    this.link = /** @type {HTMLAnchorElement | null} */ (root.querySelector("[data-bl-link]"));
    this.page = /** @type {HTMLAnchorElement | null} */ (root.querySelector("[data-bl-page]"));
    this.plot = Plot.find(root, this.id, number);
    const described = benchlore.calculators[this.id].description;
    this.someAreHidden = described.inputs.some((input) => input.shown >= 0);
    this.announcing = 0;
    this.settling = 0;
    this.examples = one(root, "[data-bl-examples]");
    /** @type {Record<string, Typed>} What stands in the fields. */
    this.raw = {};
    /** @type {Record<string, Typed>} The same without our examples and what is not asked for. */
    this.given = {};
  }

  begin() {
    this.filling.restore();
    if (this.link && hashHoldsValues()) {
      this.fillFrom(location.hash);
    } else {
      this.followSystem();
    }
  }

  // ---- answers ----

  /** @returns {Calculation} */
  update() {
    this.raw = this.fields.readAll();
    if (this.someAreHidden) {
      const shown = benchlore.listShown(this.id, this.raw);
      for (const field of this.fields.list) {
        field.hidden = !shown.includes(Fields.nameOf(field));
      }
    }
    this.given = Object.fromEntries(
      this.fields.list
        .filter((field) => !field.hidden && !this.filling.isUntouched(field))
        .map((field) => [Fields.nameOf(field), this.raw[Fields.nameOf(field)]]),
    );
    this.markExamples();
    const result = benchlore.calculate(this.id, this.given);
    this.answers.show(result);
    this.complaints.take(result.errors || []);
    if (!this.settling) {
      this.settling = window.requestAnimationFrame(() => this.settle());
    }
    return result;
  }

  /** Marks what is still our example; once a reader has typed, a line names it. */
  markExamples() {
    const labels = [];
    for (const field of this.fields.list) {
      const mark = field.querySelector("[data-bl-example]");
      if (mark instanceof HTMLElement) {
        mark.hidden = !this.filling.holdsExample(field);
        if (!mark.hidden && !field.hidden) {
          labels.push(Fields.labelOf(field));
        }
      }
    }
    this.examples.hidden = !labels.length || !this.filling.touched.size;
    write(this.examples, benchlore.words("calculator.examples", { labels: labels.join("; ") }));
  }

  updateAndAnnounce() {
    const result = this.update();
    window.clearTimeout(this.announcing);
    this.announcing = window.setTimeout(() => {
      this.status.textContent = this.answers.tell(result);
    }, ANNOUNCE_AFTER_MS);
  }

  /** @param {string} text */
  say(text) {
    window.clearTimeout(this.announcing);
    this.status.textContent = text;
  }

  /** Does what may wait for the next frame: the links and the plot. */
  settle() {
    this.settling = 0;
    const filled = Object.keys(this.given).filter((name) => writeTyped(this.given[name]) !== "");
    const values = "#" + writeHash(filled, this.given);
    if (this.link) {
      this.link.href = values;
    }
    if (this.page) {
      this.page.href = this.page.href.split("#")[0] + values;
    }
    if (this.plot) {
      this.plot.draw(this.given);
    }
  }

  // ---- values from elsewhere ----

  /** @param {string} hash */
  fillFrom(hash) {
    this.filling.fillFrom(hash);
    this.update();
  }

  /** @param {string} [system] */
  followSystem(system) {
    this.filling.followSystem(system || readSystem());
    this.update();
  }

  reset() {
    this.filling.restore();
    this.followSystem();
    if (this.link && hashHoldsValues()) {
      replaceHash("");
    }
    this.say(benchlore.words("calculator.as-at-first"));
  }

  copyLink() {
    const link = /** @type {HTMLAnchorElement} */ (this.link);
    const before = link.textContent;
    /** @param {string} text */
    const done = (text) => {
      link.textContent = text;
      this.say(text + ".");
      window.setTimeout(() => {
        link.textContent = before;
      }, 3000);
    };
    const kept = () => done(benchlore.words("calculator.address-holds"));
    if (!navigator.clipboard) {
      kept();
      return;
    }
    navigator.clipboard
      .writeText(link.href)
      .then(() => done(benchlore.words("calculator.link-copied")), kept);
  }

  // ---- rows ----

  /** @param {Element} field */
  addRow(field) {
    Rows.goTo(this.filling.rows.add(field));
    this.updateAndAnnounce();
    this.say(benchlore.words("calculator.row-added", { n: Fields.rowsOf(field).length }));
  }

  /**
   * @param {Element} field
   * @param {Element} row
   */
  removeRow(field, row) {
    this.filling.rows.remove(field, row);
    this.filling.touched.add(Fields.nameOf(field));
    this.update();
    this.say(benchlore.words("calculator.row-removed"));
  }

  /**
   * Goes on to the next row, with a new one behind the last.
   * @param {Element} row
   */
  goOn(row) {
    const field = /** @type {Element} */ (row.closest("[data-bl-input]"));
    if (row.nextElementSibling) {
      Rows.goTo(row.nextElementSibling);
    } else if (!one(field, "[data-bl-add]").hidden) {
      this.addRow(field);
    }
  }
}
