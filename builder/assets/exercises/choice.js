/* An exercise whose answer is one of several options. */

class ChoiceExercise extends Exercise {
  showFields() {
    const field = make("fieldset", { class: "bl-choices" });
    field.append(make("legend", {}, benchlore.words("exercise.choose-one")));
    (this.variant.options || []).forEach((option, place) => {
      const label = make("label");
      label.append(
        make("input", { type: "radio", name: "choice-" + this.name, value: String(place) }),
        make("b", {}, LETTERS[place]),
        makeOf("span", option),
      );
      field.append(label);
    });
    this.fields.append(field);
  }

  mark() {
    const chosen = this.fields.querySelector("input:checked");
    if (!(chosen instanceof HTMLInputElement)) {
      this.refuse(benchlore.words("exercise.choose-first"));
      return;
    }
    const { right, notes, work } = this.variant;
    const place = Number(chosen.value);
    const isRight = (right || []).includes(place);
    const note = (notes || [])[place] || (isRight ? work : "");
    this.finish(isRight, benchlore.words(isRight ? "exercise.right" : "exercise.not-that"), note);
  }
}
