/* The plot of a calculator, drawn anew for what is typed: once wide, once narrow. */

class Plot {
  /**
   * @param {HTMLElement} figure
   * @param {string} id Of the calculator.
   * @param {number} number Which of the page's calculators it is.
   */
  constructor(figure, id, number) {
    this.figure = figure;
    this.id = id;
    this.number = number;
    /** @type {PlotData} */
    this.data = JSON.parse(one(figure, "script").textContent || "");
  }

  /**
   * @param {HTMLElement} root
   * @param {string} id
   * @param {number} number
   */
  static find(root, id, number) {
    const figure = root.querySelector("[data-bl-plot]");
    return figure instanceof HTMLElement ? new Plot(figure, id, number) : null;
  }

  /** @param {Record<string, Typed>} raw */
  draw(raw) {
    const points = benchlore.samplePlot(this.id, raw);
    this.figure.classList.toggle("bl-plot-none", points === null);
    this.drawOne("wide", this.data.wide, points);
    this.drawOne("narrow", this.data.narrow, points);
  }

  /**
   * @param {string} size
   * @param {[number, number]} room Width and height.
   * @param {unknown} points
   */
  drawOne(size, room, points) {
    const name = this.id + "-" + this.number + "-" + size;
    one(this.figure, ".bl-plot-" + size).innerHTML = benchlore.twin.draw_plot(
      this.data.shape, points, room[0], room[1], name,
    );
  }
}
