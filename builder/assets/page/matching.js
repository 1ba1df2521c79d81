/* Finds places by words: every word must begin some word of the place. */

/**
 * @typedef {object} Place
 * @property {string} address
 * @property {string} title
 * @property {string} text
 * @property {string} page The title of its page, or "" where it is the page itself.
 * @property {boolean} later Whether all other places come before it.
 * @property {string} folded Title and text without marks and capitals, a space before each word.
 * @property {string} head The same of the title.
 */

/**
 * Takes capitals and marks off letters, so that é is found by e.
 * @param {string} text
 */
function fold(text) {
  return text.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase();
}

/**
 * Cuts a text into folded words, each with a space before it.
 * @param {string} text
 */
function foldWords(text) {
  return " " + (fold(text).match(/[\p{L}\p{N}]+/gu) || []).join(" ");
}

/**
 * @param {string[][]} index Address, title, text, title of the page, and "later" or "".
 * @returns {Place[]}
 */
function readPlaces(index) {
  return index.map(([address, title, text, page, rank]) => {
    const head = foldWords(title);
    const later = rank === "later";
    return { address, title, text, page, later, head, folded: head + foldWords(text) };
  });
}

/**
 * Says how near a place is to the words looked for; 0 where a word is missing.
 * @param {Place} place
 * @param {string[]} words
 */
function weigh(place, words) {
  let weight = 0;
  for (const word of words) {
    if (place.head.includes(" " + word)) {
      weight += place.head.startsWith(" " + word) ? 12 : 8;
    } else if (place.folded.includes(" " + word)) {
      weight += 2;
    } else if (word.length > 3 && place.folded.includes(word)) {
      weight += 1;
    } else {
      return 0;
    }
  }
  const whole = " " + words.join(" ");
  const bonus = place.head === whole ? 20 : place.folded.includes(whole) ? 4 : 0;
  return weight + bonus + (place.page ? 0 : 3) - Math.min(place.head.length / 40, 2);
}

/**
 * @param {Place[]} places
 * @param {string} typed
 * @returns {Place[]} The nearest first.
 */
function findPlaces(places, typed) {
  const words = foldWords(typed).trim().split(" ").filter(Boolean);
  if (!words.length) {
    return [];
  }
  return places
    .map((place) => ({ place, weight: weigh(place, words) }))
    .filter((found) => found.weight > 0)
    .sort((a, b) => Number(a.place.later) - Number(b.place.later) || b.weight - a.weight)
    .map((found) => found.place);
}
