/* What a calculator answers: outputs, warnings with their signal word, the line that follows. */

const SIGNALS = ["danger", "warning"];

class Answers {
  /** @param {HTMLElement} root */
  constructor(root) {
    this.place = one(root, "[data-bl-answers]");
    this.follow = one(root, "[data-bl-follow]");
    this.outputs = all(root, "[data-bl-output]");
    this.warnings = all(root, "[data-bl-warning]");
    this.watch();
  }

  /** @param {Calculation} result */
  show(result) {
    const refused = Boolean(result.errors && result.errors.length);
    for (const output of this.outputs) {
      const answer = refused
        ? { text: "–", us: "" }
        : result.outputs[attribute(output, "data-bl-output")];
      output.hidden = refused ? output.hidden : !answer;
      if (answer) {
        const value = one(output, "[data-bl-value]");
        const us = one(output, "[data-bl-us]");
        write(value, answer.text);
        write(us, answer.us);
        value.classList.toggle("bl-metric", answer.us !== "");
        us.hidden = answer.us === "";
      }
      const band = output.querySelector("[data-bl-band]");
      if (band instanceof HTMLElement) {
        Answers.showBand(band, refused ? undefined : answer && answer.band);
      }
    }
    for (const item of this.warnings) {
      const id = attribute(item, "data-bl-warning");
      const warning = (result.warnings || []).find((each) => each.id === id);
      item.hidden = !warning;
      if (warning) {
        write(/** @type {Element} */ (item.lastElementChild), warning.message);
      }
    }
    write(one(this.follow, "[data-bl-sum]"), this.sumUp());
    this.signal();
  }

  /**
   * @param {HTMLElement} place
   * @param {Band | undefined} band
   */
  static showBand(place, band) {
    place.hidden = !band;
    const value = one(place, "[data-bl-band-value]");
    const us = one(place, "[data-bl-band-us]");
    write(value, band ? band.text : "");
    write(us, band ? band.us : "");
    write(one(place, "[data-bl-band-why]"), band ? band.mostly : "");
    value.classList.toggle("bl-metric", Boolean(band && band.us));
    us.hidden = !band || !band.us;
  }

  /** The gravest warning that holds stands on the answer too: a number alone looks safe. */
  signal() {
    const gravest = this.warnings.find(
      (item) => !item.hidden && SIGNALS.includes(attribute(item, "data-bl-level")),
    );
    const level = gravest ? attribute(gravest, "data-bl-level") : "";
    for (const place of [this.follow, this.place]) {
      for (const each of SIGNALS) {
        place.classList.toggle("bl-caution-" + each, each === level);
      }
      const word = one(place, "[data-bl-signal]");
      write(word, gravest ? one(gravest, ".bl-signal").textContent || "" : "");
      word.hidden = !gravest;
    }
  }

  /** @returns {string} The large answers in a line. */
  sumUp() {
    return all(this.place, ".bl-answers-large [data-bl-output]")
      .filter((output) => !output.hidden)
      .map((output) => {
        const label = one(output, "dt").textContent || "";
        const value = one(output, "[data-bl-value]").textContent || "";
        const us = one(output, "[data-bl-us]").textContent || "";
        return us
          ? benchlore.words("calculator.sum-both", { label, value, us })
          : benchlore.words("calculator.sum", { label, value });
      })
      .join("; ");
  }

  /**
   * Gives what is said aloud of a result.
   * @param {Calculation} result
   */
  tell(result) {
    const errors = result.errors || [];
    if (errors.length) {
      return errors.map((error) => error.message).join(" ");
    }
    const warned = this.warnings.filter((item) => !item.hidden);
    return [this.sumUp() + ".", ...warned.map((item) => item.textContent)].join(" ");
  }

  /** Lets the line along the lower edge follow while the answers are out of sight. */
  watch() {
    const observer = new IntersectionObserver(
      (seen) => {
        this.follow.hidden = seen[seen.length - 1].isIntersecting;
      },
      { rootMargin: "0px 0px -80px 0px" },
    );
    observer.observe(this.place);
    this.follow.addEventListener("click", () => this.place.scrollIntoView({ block: "center" }));
  }
}
