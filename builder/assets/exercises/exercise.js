/* One exercise: answer, check, hint, another one like it. Marking is benchlore.twin's; here is only
   what is shown. How an answer is given differs: see the files number, choice and order. */

/**
 * @typedef {object} Variant
 * @property {string} ask
 * @property {string} work
 * @property {string} answer
 * @property {string} [hint]
 * @property {number} [drawing]
 * @property {object} [item]
 * @property {string[]} [slips]
 * @property {string[]} [options]
 * @property {string[]} [notes]
 * @property {number[]} [right]
 */

/**
 * @typedef {object} ExerciseData
 * @property {"number" | "choice" | "order"} answered
 * @property {Variant[]} variants
 * @property {object} [field]
 * @property {object} [units]
 */

const LETTERS = "ABCDEFGHIJKL";

class Exercise {
  /**
   * @param {HTMLElement} panel
   * @param {ExerciseData} data
   * @param {string} lesson
   * @param {() => void} changed Called when progress has changed.
   */
  constructor(panel, data, lesson, changed) {
    this.panel = panel;
    this.data = data;
    this.lesson = lesson;
    this.changed = changed;
    this.name = attribute(panel, "data-bl-exercise");
    this.place = 0;
    this.ask = one(panel, "[data-bl-ask]");
    this.answer = one(panel, "[data-bl-answer]");
    this.solution = /** @type {HTMLDetailsElement} */ (one(panel, "[data-bl-solution]"));
    this.work = one(panel, "[data-bl-work]");
    this.form = /** @type {HTMLFormElement} */ (
      make("form", { novalidate: "", class: "bl-attempt" })
    );
    this.fields = make("div", { class: "bl-attempt-fields" });
    this.told = make("div", { class: "bl-told", role: "status", "aria-live": "polite" });
    this.hint = makeButton(benchlore.words("exercise.hint"), () => {
      this.say("hint", benchlore.words("exercise.hint"), this.variant.hint);
    });
    this.build();
  }

  get variant() {
    return this.data.variants[this.place];
  }

  build() {
    const check = makeButton(benchlore.words("exercise.check"), () => {});
    check.type = "submit";
    check.classList.add("bl-press-main");
    const next = makeButton(benchlore.words("exercise.another"), () => {
      this.place = (this.place + 1) % this.data.variants.length;
      this.show();
      this.ask.focus();
    });
    next.hidden = this.data.variants.length < 2;
    const row = make("div", { class: "bl-presses" });
    row.append(check, this.hint, next);
    this.form.append(this.fields, row, this.told);
    this.form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.mark();
    });
    this.ask.setAttribute("tabindex", "-1");
    this.answer.before(this.form);
    this.answer.classList.add("bl-paper-only");
  }

  show() {
    const variant = this.variant;
    this.ask.innerHTML = variant.ask;
    const place = this.panel.querySelector("[data-bl-drawing]");
    if (place && variant.drawing !== undefined) {
      const picture = one(document, "[data-bl-picture='" + variant.drawing + "']");
      place.replaceChildren(
        /** @type {HTMLTemplateElement} */ (picture).content.cloneNode(true),
      );
    }
    this.solution.open = false;
    this.work.innerHTML = "<p><strong></strong></p>" + variant.work;
    one(this.work, "strong").textContent = variant.answer;
    this.hint.hidden = !variant.hint;
    this.told.replaceChildren();
    this.told.className = "bl-told";
    this.fields.replaceChildren();
    if (variant.options) {
      const list = make("ol", { class: "bl-options", type: "A" });
      list.append(...variant.options.map((option) => makeOf("li", option)));
      this.answer.replaceChildren(list);
    }
    this.showFields();
  }

  /** Shows the fields in which an answer is given. */
  showFields() {}

  /** Marks what is in the fields, and says so. */
  mark() {}

  /**
   * Says something below the form; readers that speak say it too.
   * @param {string} sort
   * @param {string} word
   * @param {string} [html]
   */
  say(sort, word, html) {
    this.told.className = "bl-told bl-told-" + sort;
    this.told.replaceChildren();
    if (word) {
      this.told.append(make("p", { class: "bl-told-word" }, word));
    }
    if (html) {
      this.told.append(makeOf("div", html));
    }
  }

  /** @param {string} text */
  add(text) {
    this.told.append(make("p", {}, text));
  }

  /** @param {string} text Why the answer cannot be marked. */
  refuse(text) {
    this.say("unread", "");
    this.add(text);
  }

  /**
   * @param {boolean} right
   * @param {string} word
   * @param {string} [html]
   */
  finish(right, word, html) {
    this.say(right ? "right" : "wrong", word, html);
    noteTry(this.lesson, this.name, right);
    this.changed();
  }
}

/**
 * Makes an element of HTML that the site itself has made.
 * @param {string} tag
 * @param {string} html
 */
function makeOf(tag, html) {
  const element = make(tag);
  element.innerHTML = html;
  return element;
}
