/* The calculators of a page by id: each one's own script adds it; the page's script asks them. */

benchlore.calculators = benchlore.calculators || {};
benchlore.addCalculator = function (short, make) {
  benchlore.calculators[short.id] = {
    description: benchlore.twin.expand_description(short),
    formulas: make(benchlore.twin),
  };
};
benchlore.calculate = function (id, raw) {
  const found = benchlore.calculators[id];
  return benchlore.twin.calculate_with_bands(found.description, found.formulas, raw);
};
benchlore.samplePlot = function (id, raw) {
  const found = benchlore.calculators[id];
  return benchlore.twin.sample_plot(found.description, found.formulas, raw);
};
benchlore.listShown = function (id, raw) {
  const found = benchlore.calculators[id];
  return benchlore.twin.list_shown(found.description, found.formulas, raw);
};
benchlore.partTyped = function (id, typed, options) {
  return benchlore.twin.part_typed(benchlore.calculators[id].description, typed, options);
};
benchlore.convertTyped = function (id, typed, unit) {
  return benchlore.twin.convert_typed(benchlore.calculators[id].description, typed, unit);
};
benchlore.partRows = function (id, name, typed) {
  const description = benchlore.calculators[id].description;
  const field = description.inputs.find((input) => input.id === name);
  return benchlore.twin.part_rows(description, typed, field);
};
