/* The page of a series: tick skills, see the lessons and the hours. What is chosen is chosen by
   benchlore.twin; here it is only shown. */

const benchlore = window.benchlore;
const { all, one, attribute, make, write } = benchlore.dom;

/**
 * @typedef {object} SeriesLesson
 * @property {string} id
 * @property {string} title
 * @property {string} href
 */

/** The sections of a page stand beside each other, so the whole page is looked through. */
function wireSeries() {
  const root = document;
  /** @type {SeriesLesson[]} */
  const lessons = JSON.parse(one(root, "[data-bl-series-data]").textContent || "[]");
  const result = one(root, "[data-bl-series-result]");
  const sum = one(root, "[data-bl-series-sum]");
  const list = one(root, "[data-bl-series-list]");

  /** @param {string} name */
  function ticked(name) {
    return all(root, "input[" + name + "]:checked").map((box) => attribute(box, name));
  }

  function show() {
    const wanted = ticked("data-bl-reach");
    const twin = benchlore.twin;
    const chosen = wanted.length
      ? twin.choose_lessons(lessons, wanted, [], ticked("data-bl-known"))
      : [];
    const [bench, wait] = twin.sum_times(lessons, chosen);
    result.hidden = wanted.length === 0;
    write(
      sum,
      benchlore.words("series.sum", {
        n: chosen.length,
        bench: twin.write_span(bench),
        wait: twin.write_span(wait),
      }),
    );
    const rows = lessons.filter((lesson) => chosen.includes(lesson.id));
    list.replaceChildren(
      ...rows.map((lesson) => {
        const row = make("li");
        row.append(make("a", { href: lesson.href }, lesson.title));
        return row;
      }),
    );
    for (const box of all(root, "[data-bl-lesson]")) {
      box.classList.toggle("bl-lit", chosen.includes(attribute(box, "data-bl-lesson")));
    }
  }

  for (const part of all(root, "[data-bl-series-only]")) {
    part.hidden = false;
  }
  root.addEventListener("change", show);
  show();
}

document.addEventListener("DOMContentLoaded", () => {
  if (all(document, "[data-bl-series-data]").length) {
    wireSeries();
  }
});
