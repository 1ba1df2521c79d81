/* Our words in the language of the site. The table comes before this script (`words.js`). */

/**
 * Gives a text with its places filled in; `n` chooses the plural form as well.
 * @param {string} key
 * @param {Record<string, string | number>} [values]
 * @returns {string}
 */
function words(key, values) {
  const given = values || {};
  const found = benchlore.texts[key];
  if (found === undefined) {
    throw new Error("there are no words for " + key);
  }
  const text = typeof found === "string" ? found : choose(found, Number(given.n));
  return text.replace(/\{(\w+)\}/g, (_, place) => String(given[place]));
}

/**
 * Chooses a plural form.
 * @param {Record<string, string>} forms
 * @param {number} number
 * @returns {string}
 */
function choose(forms, number) {
  const rules = new Intl.PluralRules(document.documentElement.lang || "en");
  return forms[rules.select(number)] || forms.other;
}

benchlore.words = words;
