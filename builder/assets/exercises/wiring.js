/* The exercises of a lesson. Without this script each stands as text with its worked solution. */

const ANSWERED = { number: NumberExercise, choice: ChoiceExercise, order: OrderExercise };

/** @param {HTMLElement} practice */
function wirePractice(practice) {
  const lesson = attribute(practice, "data-bl-practice");
  const progress = one(practice, "[data-bl-progress]");

  function changed() {
    let n = 0;
    for (const exercise of exercises) {
      const solved = tallyOf(lesson, exercise.name).solved > 0;
      exercise.panel.classList.toggle("bl-solved", solved);
      n += solved ? 1 : 0;
    }
    progress.textContent = benchlore.words("exercise.solved", { n, count: exercises.length });
    progress.hidden = false;
  }

  const exercises = all(practice, "[data-bl-exercise]").map((panel) => {
    /** @type {ExerciseData} */
    const data = JSON.parse(one(panel, "[data-bl-variants]").textContent || "");
    const Answered = ANSWERED[data.answered];
    const exercise = new Answered(panel, data, lesson, changed);
    exercise.show();
    return exercise;
  });
  changed();
  wireKeeping(practice, changed);
}

document.addEventListener("DOMContentLoaded", () => {
  all(document, "[data-bl-practice]").forEach(wirePractice);
});
