/* What this browser keeps for the reader. A page opened from a folder may not be allowed any. */

/**
 * @param {string} key
 * @returns {string | null}
 */
function recall(key) {
  try {
    return window.localStorage.getItem(key);
  } catch {
    return null;
  }
}

/**
 * @param {string} key
 * @param {string} value
 */
function remember(key, value) {
  try {
    window.localStorage.setItem(key, value);
  } catch {
    /* the choice holds for this page only */
  }
}

benchlore.recall = recall;
benchlore.remember = remember;
