/* A calculator at work: answers as you type. What is computed, read or written as text comes from
   benchlore.twin; these files only carry between the page and it. */

const benchlore = window.benchlore;
const { all, one, write, attribute } = benchlore.dom;

/** How long a reader must pause before anything is said aloud, or a mistake is pointed out. */
const ANNOUNCE_AFTER_MS = 1000;
const COMPLAIN_AFTER_MS = 700;
const COMPLAIN_ON_LEAVING_MS = 300;

/** @typedef {HTMLInputElement | HTMLSelectElement} Control */

/**
 * Undoes the percent signs of a link; one that was cut short stays as it came.
 * @param {string} text
 * @returns {string}
 */
function decode(text) {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}

/** @returns {string} The system of units that the page shows: metric, us or both. */
function readSystem() {
  return document.documentElement.getAttribute("data-bl-units") || "both";
}
