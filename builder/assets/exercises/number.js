/* An exercise whose answer is a number with its unit. */

class NumberExercise extends Exercise {
  showFields() {
    const id = "answer-" + this.name;
    this.input = /** @type {HTMLInputElement} */ (
      make("input", {
        id,
        type: "text",
        inputmode: "decimal",
        autocomplete: "off",
        maxlength: "40",
        "aria-describedby": id + "-figure",
      })
    );
    const line = make("div", { class: "bl-attempt-line" });
    line.append(this.input);
    const symbol = attribute(this.answer, "data-bl-symbol");
    if (symbol) {
      line.append(make("span", { "aria-hidden": "true" }, symbol));
    }
    const figure = attribute(this.answer, "data-bl-figure");
    this.fields.append(
      make("label", { for: id }, benchlore.words("exercise.your-answer")),
      line,
      make("p", { id: id + "-figure", class: "bl-quiet" }, figure),
    );
  }

  mark() {
    const input = /** @type {HTMLInputElement} */ (this.input);
    const typed = input.value.trim();
    const variant = this.variant;
    const item = { field: this.data.field, ...variant.item };
    const [verdict, more] = benchlore.twin.mark_number({ units: this.data.units }, item, typed);
    if (verdict === "unread") {
      this.refuse(typed ? String(more) : benchlore.words("exercise.write-first"));
      input.focus();
    } else if (verdict === "right") {
      this.finish(true, benchlore.words("exercise.right"), variant.work);
    } else if (verdict === "slip") {
      const slips = variant.slips || [];
      this.finish(false, benchlore.words("exercise.slip"), slips[Number(more)]);
    } else {
      this.finish(false, benchlore.words("exercise.not-yet"));
      this.add(benchlore.words(variant.hint ? "exercise.again-hint" : "exercise.again"));
    }
  }
}
