/* Amounts for the number made: in the table of a lesson and in its steps. */

/**
 * Writes an amount for a number of things, in both systems of units.
 * @param {HTMLElement} place
 * @param {number} count
 */
function writeAmount(place, count) {
  const twin = benchlore.twin;
  const mark = place.dataset;
  const base = Number(mark.blAmount) * count;
  const places = Number(mark.blPlaces);
  const unit = mark.blUnit || "";
  const text = twin.format_quantity(base, unit, "places", places);
  const metric = place.querySelector(".bl-metric");
  const us = place.querySelector(".bl-us");
  if (!metric || !us) {
    one(place, ".bl-q").textContent = text; // too little to have a US side
    return;
  }
  metric.textContent = text;
  us.childNodes[1].nodeValue = mark.blUsUnit
    ? twin.format_quantity(base, mark.blUsUnit, "places", Number(mark.blUsPlaces))
    : twin.format_us(base, unit, "places", Math.min(places, 1));
}

/** @param {HTMLElement} stepper */
function wireStepper(stepper) {
  const input = /** @type {HTMLInputElement} */ (one(stepper, "input"));
  const places = all(document, "[data-bl-amount]");
  if (!places.length) {
    return;
  }
  const start = Number(input.value);
  const said = one(document, "[data-bl-count]");
  const announced = one(document, "[data-bl-count-said]");
  const changed = all(document, "[data-bl-scaled], [data-bl-unscaled]");

  function update() {
    const count = Math.round(Number(input.value));
    if (!(count >= Number(input.min) && count <= Number(input.max))) {
      return;
    }
    for (const place of places) {
      writeAmount(place, count);
    }
    const things = attribute(stepper, count === 1 ? "data-bl-one" : "data-bl-many");
    said.textContent = benchlore.words("lesson.makes-things", { count, things });
    for (const mark of changed) {
      mark.hidden = count === start;
    }
  }

  function updateAndAnnounce() {
    update();
    announced.textContent = benchlore.words("lesson.announced", { what: said.textContent || "" });
  }

  stepper.addEventListener("click", (event) => {
    const button = event.target instanceof Element && event.target.closest("[data-bl-step]");
    if (button) {
      const next = Math.round(Number(input.value) || 0) + Number(attribute(button, "data-bl-step"));
      input.value = String(Math.min(Number(input.max), Math.max(Number(input.min), next)));
      updateAndAnnounce();
    }
  });
  input.addEventListener("input", updateAndAnnounce);
  stepper.hidden = false;
  update();
}

all(document, "[data-bl-stepper]").forEach(wireStepper);
