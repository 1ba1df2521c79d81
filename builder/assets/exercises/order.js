/* An exercise whose answer is an order. */

class OrderExercise extends Exercise {
  showFields() {
    this.order = (this.variant.options || []).map((_, place) => place);
    this.showOrder();
  }

  showOrder() {
    const order = this.order || [];
    const options = this.variant.options || [];
    const list = make("ol", { class: "bl-sorting" });
    order.forEach((option, place) => {
      const words = makeOf("span", options[option]);
      const item = words.textContent || "";
      const up = makeButton("↑", () => this.move(place, place - 1));
      const down = makeButton("↓", () => this.move(place, place + 1));
      up.setAttribute("aria-label", benchlore.words("exercise.move-up", { item }));
      down.setAttribute("aria-label", benchlore.words("exercise.move-down", { item }));
      up.disabled = place === 0;
      down.disabled = place === order.length - 1;
      const row = make("li");
      row.append(make("b", {}, LETTERS[option]), words, up, down);
      list.append(row);
    });
    this.fields.replaceChildren(list);
  }

  /**
   * @param {number} from
   * @param {number} to
   */
  move(from, to) {
    const order = this.order || [];
    const taken = order.splice(from, 1)[0];
    order.splice(to, 0, taken);
    this.showOrder();
    const row = all(this.fields, "li")[to];
    const buttons = /** @type {HTMLButtonElement[]} */ (all(row, "button"));
    const [wanted, other] = to < from ? buttons : [buttons[1], buttons[0]];
    (wanted.disabled ? other : wanted).focus();
    const item = one(row, "span").textContent || "";
    this.say("hint", "");
    this.add(benchlore.words("exercise.moved", { item, place: to + 1, count: order.length }));
  }

  mark() {
    const { right, work } = this.variant;
    const [verdict, upTo] = benchlore.twin.mark_order(this.order || [], right || []);
    if (verdict === "right") {
      this.finish(true, benchlore.words("exercise.right"), work);
    } else {
      this.finish(false, benchlore.words("exercise.not-yet"));
      this.add(benchlore.words("exercise.right-up-to", { count: upTo }));
    }
  }
}
