/* Runs before anything is drawn, so that a page never flashes in the other scheme. */

const benchlore = (window.benchlore = window.benchlore || /** @type {Benchlore} */ ({}));
const darkSheet = /** @type {HTMLLinkElement} */ (document.querySelector("[data-bl-dark]"));
const FOLLOWS_SYSTEM = darkSheet.media;

/** @param {string | null} scheme light, dark, or null for what the system asks for. */
function setScheme(scheme) {
  const media = { light: "not all", dark: "screen" };
  darkSheet.media = scheme === "light" || scheme === "dark" ? media[scheme] : FOLLOWS_SYSTEM;
}

/** @returns {boolean} */
function isDark() {
  return matchMedia(darkSheet.media).matches;
}

benchlore.SCHEME_KEY = "benchlore-scheme";
benchlore.setScheme = setScheme;
benchlore.isDark = isDark;
try {
  setScheme(window.localStorage.getItem(benchlore.SCHEME_KEY));
} catch {
  /* a page opened from a folder may not be allowed any memory */
}
