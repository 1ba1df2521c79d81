/* The bench view of a lesson: one step a screen, for a phone propped against the work. The screens
   are the parts of the page itself; what is shown stands in the address, so that the way back and a
   page that is loaded anew lead to the same step. */

const BENCH_HASH = /^#bench-(\d+)$/;

class BenchView {
  /**
   * @param {HTMLElement} place Where the button that begins stands.
   * @param {HTMLElement[]} screens
   */
  constructor(place, screens) {
    this.screens = screens;
    this.place = -1;
    /** @type {WakeLockSentinel | null} */
    this.awake = null;
    this.foot = make("section", { class: "bl-bench-foot" });
    this.where = make("p", { class: "bl-bench-where" });
    this.back = makeButton(benchlore.words("bench.back"), () => this.go(this.place - 1));
    this.next = makeButton(benchlore.words("bench.next"), () => this.go(this.place + 1));
    this.leave = makeButton(benchlore.words("bench.leave"), () => this.close());
    this.timer = new BenchTimer();
    this.build();
    for (const button of all(place, "button")) {
      button.addEventListener("click", () => this.go(0));
    }
    place.hidden = false;
    window.addEventListener("hashchange", () => this.follow());
    document.addEventListener("keydown", (event) => this.press(event));
    document.addEventListener("visibilitychange", () => this.keepAwake());
  }

  build() {
    this.foot.setAttribute("aria-label", benchlore.words("bench.view"));
    this.back.classList.add("bl-bench-back");
    this.next.classList.add("bl-bench-next", "bl-press-main");
    const line = make("div", { class: "bl-bench-line" });
    line.append(this.where, this.leave);
    const ways = make("div", { class: "bl-bench-ways" });
    ways.append(this.back, this.next);
    this.foot.append(this.timer.place, line, ways);
    this.foot.hidden = true;
    document.body.append(this.foot);
  }

  /** @param {number} place */
  go(place) {
    if (place >= this.screens.length) {
      this.close();
    } else {
      location.hash = "#bench-" + Math.max(0, place);
    }
  }

  close() {
    const now = this.screens[this.place];
    const step = now && now.matches(".bl-step") ? now.id : "steps";
    location.hash = "#" + step;
  }

  follow() {
    const found = BENCH_HASH.exec(location.hash);
    const place = found ? Number(found[1]) : -1;
    this.show(place < this.screens.length ? place : -1);
  }

  /** @param {number} place -1 shows the whole page again. */
  show(place) {
    const wasOpen = this.place >= 0;
    this.place = place;
    document.documentElement.classList.toggle("bl-bench", place >= 0);
    this.foot.hidden = place < 0;
    this.screens.forEach((screen, index) => screen.classList.toggle("bl-on", index === place));
    this.keepAwake();
    if (place < 0) {
      if (wasOpen) {
        document.querySelector(location.hash || "body")?.scrollIntoView();
      }
      return;
    }
    const screen = this.screens[place];
    const last = place === this.screens.length - 1;
    this.back.disabled = place === 0;
    this.next.textContent = benchlore.words(last ? "bench.done" : "bench.next");
    this.where.textContent = this.tellPlace();
    this.timer.offer(screen);
    window.scrollTo(0, 0);
    const heading = /** @type {HTMLElement | null} */ (screen.querySelector("h2, h3"));
    heading?.setAttribute("tabindex", "-1");
    heading?.focus({ preventScroll: true });
  }

  tellPlace() {
    const steps = this.screens.filter((screen) => screen.matches(".bl-step"));
    const n = steps.indexOf(this.screens[this.place]) + 1;
    return n > 0
      ? benchlore.words("bench.step", { n, count: steps.length })
      : benchlore.words("bench.before");
  }

  /** @param {KeyboardEvent} event */
  press(event) {
    const target = /** @type {Element} */ (event.target);
    if (this.place < 0 || target.matches("input, select, textarea")) {
      return;
    }
    if (event.key === "Escape") {
      this.close();
    } else if (event.key === "ArrowRight") {
      this.go(this.place + 1);
    } else if (event.key === "ArrowLeft" && this.place > 0) {
      this.go(this.place - 1);
    }
  }

  /** Keeps the screen lit, where the browser lets a page do so. */
  async keepAwake() {
    const wanted = this.place >= 0 && document.visibilityState === "visible";
    try {
      if (wanted && !this.awake && navigator.wakeLock) {
        this.awake = await navigator.wakeLock.request("screen");
        this.awake.addEventListener("release", () => {
          this.awake = null;
        });
      } else if (!wanted && this.awake) {
        await this.awake.release();
      }
    } catch {
      /* the screen goes dark as it always does */
    }
  }
}

for (const place of all(document, "[data-bl-bench]")) {
  const screens = [
    ...all(document, "#need").map((head) => head.closest("section")),
    ...all(document, "#cautions").map((head) => head.closest("section")),
    ...all(document, ".bl-steps > .bl-step"),
  ].filter((screen) => screen instanceof HTMLElement);
  const view = new BenchView(place, screens);
  view.follow();
}
