/* Progress in the exercises: in this browser only, and only where it allows. */

const benchlore = window.benchlore;
const { all, one, make, makeButton, attribute } = benchlore.dom;
const PRACTICE_KEY = "benchlore-practice";

/** @typedef {{ tried: number, solved: number }} Tally */
/** @typedef {Record<string, Record<string, Tally>>} Progress By lesson and exercise. */

/** @type {Progress | null} */
let keptProgress = null;

/**
 * @param {unknown} value
 * @returns {value is Record<string, unknown>}
 */
function isRecord(value) {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

/**
 * @param {unknown} value
 * @returns {value is number}
 */
function isCount(value) {
  return Number.isInteger(value) && Number(value) >= 0 && Number(value) < 1e6;
}

/** @param {string} name */
function isId(name) {
  return /^[a-z0-9-]{1,80}$/.test(name);
}

/**
 * Keeps what has the shape of progress and drops the rest: a file may hold anything.
 * @param {unknown} value
 * @returns {Progress}
 */
function siftProgress(value) {
  /** @type {Progress} */
  const clean = {};
  for (const [lesson, exercises] of Object.entries(isRecord(value) ? value : {})) {
    for (const [name, tally] of Object.entries(isRecord(exercises) ? exercises : {})) {
      if (isId(lesson) && isId(name) && isRecord(tally)) {
        const { tried, solved } = tally;
        if (isCount(tried) && isCount(solved)) {
          clean[lesson] = clean[lesson] || {};
          clean[lesson][name] = { tried, solved };
        }
      }
    }
  }
  return clean;
}

/** @returns {Progress} */
function recallProgress() {
  if (keptProgress === null) {
    try {
      keptProgress = siftProgress(JSON.parse(benchlore.recall(PRACTICE_KEY) || "{}"));
    } catch {
      keptProgress = {};
    }
  }
  return keptProgress;
}

/** @param {Progress} progress */
function rememberProgress(progress) {
  keptProgress = progress;
  benchlore.remember(PRACTICE_KEY, JSON.stringify(progress));
}

/**
 * @param {string} lesson
 * @param {string} name
 * @returns {Tally}
 */
function tallyOf(lesson, name) {
  return (recallProgress()[lesson] || {})[name] || { tried: 0, solved: 0 };
}

/**
 * @param {string} lesson
 * @param {string} name
 * @param {boolean} right
 */
function noteTry(lesson, name, right) {
  const progress = recallProgress();
  const { tried, solved } = tallyOf(lesson, name);
  progress[lesson] = progress[lesson] || {};
  progress[lesson][name] = { tried: tried + 1, solved: solved + (right ? 1 : 0) };
  rememberProgress(progress);
}
