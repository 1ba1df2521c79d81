/* Progress saved as a file, loaded, cleared. */

/**
 * @param {HTMLElement} practice
 * @param {() => void} changed
 */
function wireKeeping(practice, changed) {
  const place = one(practice, "[data-bl-keeping]");
  const told = make("p", { role: "status", "aria-live": "polite", class: "bl-quiet" });
  const file = /** @type {HTMLInputElement} */ (
    make("input", { type: "file", accept: "application/json,.json", hidden: "" })
  );
  file.addEventListener("change", () => {
    const chosen = file.files && file.files[0];
    if (chosen) {
      chosen.text().then(
        (text) => {
          told.textContent = benchlore.words(takeProgress(text, changed));
        },
        () => {
          told.textContent = benchlore.words("exercise.file-unread");
        },
      );
    }
    file.value = "";
  });
  const save = makeButton(benchlore.words("exercise.save"), () => {
    saveProgress();
    told.textContent = benchlore.words("exercise.saved");
  });
  const load = makeButton(benchlore.words("exercise.load"), () => file.click());
  const row = make("div", { class: "bl-presses" });
  row.append(save, load, makeClear(told, changed), file);
  place.append(make("p", { class: "bl-quiet" }, benchlore.words("exercise.kept-here")), row, told);
  place.hidden = false;
}

function saveProgress() {
  const text = JSON.stringify({ benchlore: "practice", progress: recallProgress() }, null, 1);
  const link = /** @type {HTMLAnchorElement} */ (make("a", { download: "practice.json" }));
  link.href = URL.createObjectURL(new Blob([text], { type: "application/json" }));
  link.click();
  URL.revokeObjectURL(link.href);
}

/**
 * Takes the progress of a file.
 * @param {string} text
 * @param {() => void} changed
 * @returns {string} The key of what is said of it.
 */
function takeProgress(text, changed) {
  try {
    const read = JSON.parse(text);
    if (isRecord(read) && read.benchlore === "practice") {
      rememberProgress(siftProgress(read.progress));
      changed();
      return "exercise.loaded";
    }
  } catch {
    /* not a file of ours: said below */
  }
  return "exercise.file-strange";
}

/**
 * Makes the button that clears all progress, when it is pressed twice.
 * @param {HTMLElement} told
 * @param {() => void} changed
 */
function makeClear(told, changed) {
  let sure = false;
  const clear = makeButton(benchlore.words("exercise.clear"), () => {
    sure = !sure;
    clear.textContent = benchlore.words(sure ? "exercise.clear-sure" : "exercise.clear");
    told.textContent = benchlore.words(sure ? "exercise.clears-all" : "exercise.cleared");
    if (!sure) {
      rememberProgress({});
      changed();
    }
  });
  return clear;
}
