/* The diagnosis page. What is likely, what to ask and what is said is worked out by the model written
   from Python (benchlore.twin); here is only what is drawn and pressed. */

const root = /** @type {HTMLElement} */ (document.querySelector("[data-bl-diagnosis]"));
const grid = /** @type {HTMLElement} */ (document.querySelector(".bl-sign-index"));
const contextPlace = /** @type {HTMLElement} */ (document.querySelector("[data-bl-contexts]"));
const twin = /** @type {any} */ (window.benchlore.twin);
/** @type {any} */
const data = JSON.parse(
  /** @type {HTMLElement} */ (document.querySelector("[data-bl-consultation]")).textContent || "",
);
/** @type {Record<string, string>} */
const words = data.words;
const network = twin.index_network(data.network);
const visit = startVisit(data);
const panel = make("div", { class: "bl-stage" }, []);
const voice = make("p", { class: "bl-hidden", "aria-live": "polite" }, []);

/** Work out the plan for what is told so far. */
function makePlan() {
  return twin.make_plan(network, data.guide, visit.told());
}

/** @param {any} plan */
function writeLines(plan) {
  return twin.write_plan(data.texts, plan, visit.told());
}

/** @param {number} probability */
function sayLikelihood(probability) {
  return twin.say_likelihood(data.texts, probability);
}

/**
 * @param {string} kind
 * @param {string} id
 */
function nameOf(kind, id) {
  return data.texts.names[kind + ":" + id];
}

/** @param {string} id */
function isSign(id) {
  return Object.hasOwn(data.symptoms, id);
}

/** @param {string} name */
function drawPicture(name) {
  const tile = grid.querySelector('[data-bl-picture="' + name + '"] svg');
  return tile ? make("span", { class: "bl-small-picture" }, [tile.cloneNode(true)]) : null;
}

/**
 * @param {string} kind
 * @param {{id: string, probability: number}} entry
 * @param {string|null} because
 */
function drawRow(kind, entry, because) {
  const about = kind === "defect" ? data.defects[entry.id] : data.causes[entry.id];
  const filled = Math.max(0.02, Math.min(1, entry.probability));
  const picture = kind === "defect" ? drawPicture(about.picture) : null;
  const full = make("span", {}, []);
  full.style.inlineSize = (filled * 100).toFixed(1) + "%";
  const gauge = make("span", { class: "bl-gauge", "aria-hidden": "true" }, [full]);
  return make("li", { "data-id": entry.id, class: picture ? "bl-pictured" : null }, [
    picture,
    make("a", { href: about.link }, [nameOf(kind, entry.id)]),
    make("span", { class: "bl-likely" }, [sayLikelihood(entry.probability)]),
    gauge,
    because ? make("span", { class: "bl-because" }, [words.because + because]) : null,
  ]);
}

/**
 * @param {any[]} leads
 * @param {number} most
 */
function listDefects(leads, most) {
  const rows = leads.slice(0, most).map((lead) => drawRow("defect", lead, null));
  return make("ol", { class: "bl-ranking", "data-bl-ranking": "defects" }, rows);
}

/**
 * @param {any[]} causes
 * @param {number} most
 */
function listCauses(causes, most) {
  const rows = causes
    .filter((each) => each.probability >= twin.LEAST_LISTED)
    .slice(0, most)
    .map((each) => {
      const reasons = each.because
        .filter((reason) => reason.bits > 0)
        .slice(0, 3)
        .map((reason) => twin.word_reason(data.texts, reason));
      return drawRow("cause", each, reasons.join("; "));
    });
  return make("ol", { class: "bl-ranking", "data-bl-ranking": "causes" }, rows);
}

/* Rows glide from where they stood; not where the reader asks for no motion. */
/** @param {Object<string, number>} before */
function glide(before) {
  if (!window.matchMedia || matchMedia("(prefers-reduced-motion: reduce)").matches) {
    return;
  }
  listRows().forEach((item) => {
    const old = before[keyOf(item)];
    const moved = old === undefined ? 0 : old - item.offsetTop;
    if (moved && item.animate) {
      const steps = [{ transform: "translateY(" + moved + "px)" }, { transform: "none" }];
      item.animate(steps, { duration: 350, easing: "ease-out" });
    }
  });
}

/** @returns {HTMLElement[]} */
function listRows() {
  return Array.from(panel.querySelectorAll(".bl-ranking > li"));
}

/** @param {HTMLElement} item */
function keyOf(item) {
  const list = item.closest("[data-bl-ranking]");
  return (list ? list.getAttribute("data-bl-ranking") : "") + ":" + item.dataset.id;
}

/** @param {Element|null} node */
function focusOn(node) {
  if (node instanceof HTMLElement) {
    node.focus({ preventScroll: true });
  }
}

function listPlaces() {
  /** @type {Object<string, number>} */
  const found = {};
  listRows().forEach((item) => {
    found[keyOf(item)] = item.offsetTop;
  });
  return found;
}
