/* Draws the lines of a plan. What they say was worked out in benchlore.twin.write_plan; here is only
   which element a role becomes, and what unfolds beside it. */

/**
 * Make an element.
 * @param {string} tag
 * @param {Object<string, string|null>} attributes null leaves an attribute out
 * @param {(Node|string|null)[]} children
 */
function make(tag, attributes, children) {
  const element = document.createElement(tag);
  Object.keys(attributes).forEach((name) => {
    const value = attributes[name];
    if (value !== null) {
      element.setAttribute(name, value);
    }
  });
  children.forEach((child) => {
    if (child !== null) {
      element.append(child);
    }
  });
  return element;
}

/**
 * Make an element of HTML that the builder wrote.
 * @param {string} tag
 * @param {string} html
 */
function makeOf(tag, html) {
  const element = document.createElement(tag);
  element.innerHTML = html;
  return element;
}

/**
 * Make a button.
 * @param {string} words
 * @param {() => void} press
 * @param {string} [kind] further classes
 */
function makeButton(words, press, kind) {
  const button = make("button", { type: "button", class: "bl-press " + (kind || "") }, [words]);
  button.addEventListener("click", press);
  return button;
}

/**
 * Draw the cautions of a defect or fix, a line each.
 * @param {any} data
 * @param {string[]} ids
 */
function drawCautions(data, ids) {
  const items = ids.map((id) => {
    const caution = data.cautions[id];
    return make("li", { class: "bl-caution-line bl-" + caution.signal.toLowerCase() }, [
      make("strong", {}, [caution.signal + ": "]),
      make("a", { href: caution.link }, [caution.title]),
      ". " + caution.do,
    ]);
  });
  return items.length ? make("ul", { class: "bl-caution-lines" }, items) : null;
}

/**
 * Draw the pieces of a line; names of entries with a page become links.
 * @param {any} data
 * @param {{pieces: {text: string, kind: string, id: string}[]}} line
 */
function drawPieces(data, line) {
  return line.pieces.map((piece) => {
    const link = linkOf(data, piece.kind, piece.id);
    return link ? make("a", { href: link }, [piece.text]) : piece.text;
  });
}

/**
 * @param {any} data
 * @param {string} kind
 * @param {string} id
 */
function linkOf(data, kind, id) {
  /** @type {Record<string, any>} */
  const places = { defect: data.defects, cause: data.causes, fix: data.fixes };
  return places[kind] ? places[kind][id].link : "";
}

/**
 * Draw a fix: its name, what it is, its cautions, and its steps to unfold.
 * @param {any} data
 * @param {any} line
 * @param {boolean} open
 */
function drawFix(data, line, open) {
  const entry = data.fixes[line.id];
  const name = data.texts.names["fix:" + line.id];
  const how = make("details", open ? { open: "" } : {}, [
    make("summary", {}, [data.words.how, make("span", { class: "bl-hidden" }, [": " + name])]),
    make("ol", {}, entry.steps.map((step) => makeOf("li", step))),
  ]);
  return make("li", { class: "bl-plan-fix" }, [
    make("h4", { "data-bl-line": line.role }, drawPieces(data, line)),
    make("p", {}, [
      entry.summary + " ",
      make("span", { class: "bl-quiet" }, ["(" + entry.time + ")"]),
    ]),
    drawCautions(data, entry.cautions),
    how,
  ]);
}

/**
 * Draw whether the thing may still be used.
 * @param {any} data
 * @param {any} line
 */
function drawUse(data, line) {
  const defect = data.defects[line.id];
  return make("div", { class: "bl-usable" }, [
    make("p", { class: "bl-usable-head", "data-bl-line": line.role }, [line.text]),
    makeOf("div", defect.use),
    drawCautions(data, defect.cautions),
  ]);
}

/**
 * Draw all lines of a plan, in their order.
 * @param {any} data
 * @param {any[]} lines from benchlore.twin.write_plan
 */
function drawLines(data, lines) {
  /** @type {HTMLElement[]} */
  const drawn = [];
  /** @type {HTMLElement|null} */
  let box = null;
  /** @type {HTMLElement|null} */
  let list = null;
  lines.forEach((line, place) => {
    const role = line.role;
    const stops = role.startsWith("stop") || role.startsWith("hold");
    if (role === "stop-title" || role === "hold-title" || (stops && !box)) {
      const not = role.startsWith("stop") ? " bl-usable-not" : "";
      box = make("div", { class: "bl-usable" + not, role: "alert" }, []);
      drawn.push(box);
    }
    if (!stops) {
      box = null;
    }
    if (role !== "now" && role !== "next") {
      list = null;
    }
    const mark = { "data-bl-line": role };
    if (box && role.endsWith("title")) {
      box.append(make("p", { class: "bl-usable-head", ...mark }, drawPieces(data, line)));
    } else if (box) {
      box.append(make("p", mark, drawPieces(data, line)));
    } else if (role === "now-title" || role === "next-title") {
      drawn.push(make("h3", mark, drawPieces(data, line)));
    } else if (role === "now" || role === "next") {
      if (!list) {
        list = make("ul", { class: "bl-plan" }, []);
        drawn.push(list);
      }
      list.append(drawFix(data, line, lines[place - 1].role !== role));
    } else if (role === "use") {
      drawn.push(drawUse(data, line));
    } else {
      const lead = role === "lead" || role === "verdict" ? "bl-summary" : null;
      drawn.push(make("p", { class: lead, ...mark }, drawPieces(data, line)));
    }
  });
  return drawn;
}
