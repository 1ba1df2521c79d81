/* The search of the whole site. Its index is a script, fetched when the search is first opened: a
   page opened from a folder may read no other file. */

const MOST_RESULTS = 30;
const LETTERS_SHOWN = 140;

class Search {
  /** @param {HTMLDialogElement} dialog */
  constructor(dialog) {
    this.dialog = dialog;
    this.input = /** @type {HTMLInputElement} */ (one(dialog, "[data-bl-search-input]"));
    this.count = one(dialog, "[data-bl-search-count]");
    this.list = one(dialog, "[data-bl-search-results]");
    /** @type {Place[] | null} */
    this.places = null;
    this.input.addEventListener("input", () => this.show());
    this.dialog.addEventListener("keydown", (event) => this.move(event));
    this.list.addEventListener("click", () => dialog.close());
    one(dialog, "form").addEventListener("submit", (event) => this.submit(event));
  }

  open() {
    if (!this.dialog.open) {
      this.dialog.showModal();
      this.input.select();
      this.loadIndex();
    }
  }

  loadIndex() {
    if (this.places) {
      return;
    }
    this.count.textContent = benchlore.words("frame.searching");
    const script = document.createElement("script");
    script.src = attribute(document.body, "data-bl-search");
    script.addEventListener("load", () => {
      this.places = readPlaces(benchlore.searchIndex);
      this.show();
    });
    script.addEventListener("error", () => {
      this.count.textContent = benchlore.words("frame.unread");
    });
    document.head.append(script);
  }

  show() {
    if (!this.places) {
      return;
    }
    const typed = this.input.value;
    const found = findPlaces(this.places, typed);
    const shown = found.slice(0, MOST_RESULTS);
    this.list.replaceChildren(...shown.map((place) => makeResult(place, typed)));
    this.count.textContent = typed.trim() ? tellCount(found.length, shown.length) : "";
  }

  /**
   * The enter key goes to the first result; the button closes.
   * @param {Event} event
   */
  submit(event) {
    const submitter = event instanceof SubmitEvent ? event.submitter : null;
    const first = this.list.querySelector("a");
    if (document.activeElement === this.input && submitter && first) {
      event.preventDefault();
      first.click();
    }
  }

  /** @param {KeyboardEvent} event */
  move(event) {
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (!step) {
      return;
    }
    const stops = [this.input, ...all(this.list, "a")];
    const at = stops.indexOf(/** @type {HTMLElement} */ (document.activeElement));
    event.preventDefault();
    stops[Math.min(stops.length - 1, Math.max(0, at + step))].focus();
  }
}

/**
 * @param {number} n
 * @param {number} shown
 */
function tellCount(n, shown) {
  if (n === 0) {
    return benchlore.words("frame.nothing");
  }
  return n > shown
    ? benchlore.words("frame.found-most", { n, shown })
    : benchlore.words("frame.found", { n });
}

/**
 * @param {Place} place
 * @param {string} typed
 */
function makeResult(place, typed) {
  const root = attribute(document.body, "data-bl-root").replace(/index\.html$/, "");
  const link = make("a", { href: root + place.address });
  link.append(make("strong", {}, place.title));
  if (place.page) {
    link.append(make("span", { class: "bl-search-page" }, place.page));
  }
  const text = cutText(place.text, typed);
  if (text) {
    link.append(make("span", { class: "bl-search-text" }, text));
  }
  const item = make("li");
  item.append(link);
  return item;
}

/**
 * Cuts a text to what is around the first word looked for.
 * @param {string} text
 * @param {string} typed
 */
function cutText(text, typed) {
  const word = typed.trim().toLowerCase().split(/\s+/)[0];
  const at = Math.max(0, text.toLowerCase().indexOf(word));
  const from = at < LETTERS_SHOWN / 2 ? 0 : text.lastIndexOf(" ", at - 40) + 1;
  const cut = text.slice(from, from + LETTERS_SHOWN);
  return (from ? "… " : "") + cut + (from + LETTERS_SHOWN < text.length ? " …" : "");
}

for (const found of all(document, "[data-bl-search-dialog]")) {
  const search = new Search(/** @type {HTMLDialogElement} */ (found));
  for (const button of all(document, "[data-bl-search-open]")) {
    button.hidden = false;
    button.addEventListener("click", () => search.open());
  }
  document.addEventListener("keydown", (event) => {
    const target = /** @type {HTMLElement} */ (event.target);
    const typing = target.matches("input, select, textarea, [contenteditable]");
    const wanted = event.key === "/" || (event.key === "k" && (event.ctrlKey || event.metaKey));
    if (wanted && !(typing && event.key === "/")) {
      event.preventDefault();
      search.open();
    }
  });
}
