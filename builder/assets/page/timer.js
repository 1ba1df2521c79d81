/* The timer of the bench view. It goes on while the reader goes on to other steps. */

/**
 * Writes seconds as a clock does, 4:05 or 1:00:00.
 * @param {number} seconds
 */
function writeClock(seconds) {
  const left = Math.max(0, Math.ceil(seconds));
  const parts = [Math.floor(left / 3600), Math.floor(left / 60) % 60, left % 60];
  const texts = parts.map((part, index) => (index ? String(part).padStart(2, "0") : String(part)));
  return parts[0] ? texts.join(":") : String(parts[1]) + ":" + texts[2];
}

class BenchTimer {
  constructor() {
    this.place = make("div", { class: "bl-bench-timer" });
    this.starts = make("div", { class: "bl-bench-starts" });
    this.running = make("p", { class: "bl-bench-running", hidden: "" });
    this.clock = make("strong", { role: "timer" });
    this.of = make("span");
    this.told = make("span", { class: "bl-hidden", role: "alert" });
    this.stop = makeButton(benchlore.words("bench.stop"), () => this.end());
    this.running.append(this.clock, " ", this.of, this.stop);
    this.place.append(this.running, this.starts, this.told);
    this.until = 0;
    this.ticking = 0;
  }

  /**
   * Offers the times of a screen.
   * @param {HTMLElement} screen
   */
  offer(screen) {
    this.starts.replaceChildren();
    for (const [name, key] of [["data-bl-time", "bench.time"], ["data-bl-wait", "bench.wait"]]) {
      const seconds = Number(screen.getAttribute(name));
      if (seconds > 0) {
        const text = benchlore.words(key, { time: writeClock(seconds) });
        const title = screen.querySelector("h3")?.textContent || "";
        this.starts.append(makeButton(text, () => this.start(seconds, title)));
      }
    }
  }

  /**
   * @param {number} seconds
   * @param {string} title
   */
  start(seconds, title) {
    this.until = Date.now() + seconds * 1000;
    this.of.textContent = title;
    this.told.textContent = "";
    this.running.hidden = false;
    this.running.classList.remove("bl-bench-up");
    window.clearInterval(this.ticking);
    this.ticking = window.setInterval(() => this.tick(), 250);
    this.tick();
  }

  tick() {
    const left = (this.until - Date.now()) / 1000;
    write(this.clock, writeClock(left));
    if (left <= 0) {
      window.clearInterval(this.ticking);
      const said = benchlore.words("bench.up");
      write(this.clock, said);
      this.told.textContent = said + " " + this.of.textContent;
      this.running.classList.add("bl-bench-up");
      navigator.vibrate?.([400, 200, 400]);
    }
  }

  end() {
    window.clearInterval(this.ticking);
    this.running.hidden = true;
  }
}
