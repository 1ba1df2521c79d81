/* Small pieces that every script uses. The files of a folder are joined into one plain script,
   for modules do not run on a page opened from a folder; what others use stands in `benchlore`. */

const benchlore = (window.benchlore = window.benchlore || /** @type {Benchlore} */ ({}));

/**
 * Finds elements as a list, in the order of the page.
 * @param {ParentNode} root
 * @param {string} selector
 * @returns {HTMLElement[]}
 */
function all(root, selector) {
  return Array.from(root.querySelectorAll(selector));
}

/**
 * Finds the one element that the template always has.
 * @param {ParentNode} root
 * @param {string} selector
 * @returns {HTMLElement}
 */
function one(root, selector) {
  const found = root.querySelector(selector);
  if (!(found instanceof HTMLElement)) {
    throw new Error("the page lacks " + selector);
  }
  return found;
}

/**
 * Sets a text only where it differs, so that readers that speak are not told the same again.
 * @param {Element} node
 * @param {string} text
 */
function write(node, text) {
  if (node.textContent !== text) {
    node.textContent = text;
  }
}

/**
 * Makes an element.
 * @param {string} tag
 * @param {Record<string, string>} [attributes]
 * @param {string} [words]
 * @returns {HTMLElement}
 */
function make(tag, attributes, words) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes || {})) {
    element.setAttribute(name, value);
  }
  if (words) {
    element.textContent = words;
  }
  return element;
}

/**
 * Makes a button.
 * @param {string} words
 * @param {() => void} press
 * @returns {HTMLButtonElement}
 */
function makeButton(words, press) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "bl-press";
  button.textContent = words;
  button.addEventListener("click", press);
  return button;
}

/**
 * Gives an attribute that the template always writes.
 * @param {Element} node
 * @param {string} name
 * @returns {string}
 */
function attribute(node, name) {
  return node.getAttribute(name) || "";
}

benchlore.dom = { all, one, write, make, makeButton, attribute };
