/* The values of a calculator in the address of its page. */

/**
 * Writes a field as one text, as it may be typed on the command line.
 * @param {Typed} value
 * @returns {string}
 */
function writeTyped(value) {
  if (typeof value === "string") {
    return value;
  }
  return value
    .filter((cells) => Object.values(cells).some((text) => text !== ""))
    .map((cells) => {
      const texts = Object.values(cells).map((text) => text.replace(/[:;]/g, " "));
      return texts.join(":").replace(/:+$/, "") + ";";
    })
    .join("");
}

/**
 * Writes fields as the part of an address behind `#`.
 * @param {string[]} names
 * @param {Record<string, Typed>} raw
 * @returns {string}
 */
function writeHash(names, raw) {
  return names
    .map((name) => {
      const text = encodeURIComponent(writeTyped(raw[name]));
      return name + "=" + text.replace(/%3A/g, ":").replace(/%3B/g, ";").replace(/%2C/g, ",");
    })
    .join("&");
}

/**
 * Reads the part of an address behind `#`.
 * @param {string} hash
 * @returns {[string, string][]} Pairs of name and typed text.
 */
function readHash(hash) {
  return hash
    .replace(/^#/, "")
    .split("&")
    .map((pair) => {
      const at = pair.indexOf("=");
      return [pair.slice(0, at), decode(pair.slice(at + 1))];
    });
}

/** @returns {boolean} Whether the address holds values. */
function hashHoldsValues() {
  return location.hash.indexOf("=") > 0;
}

/** @param {string} hash Without `#` as first sign it is taken out of the address. */
function replaceHash(hash) {
  try {
    history.replaceState(null, "", hash || location.href.split("#")[0]);
  } catch {
    /* a page in a frame may not be allowed to; the values stand all the same */
  }
}
