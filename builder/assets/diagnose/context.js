/* What is asked about the thing before its signs, and the pictures that then come in question. */

/** @param {any} context */
function drawContext(context) {
  const chosen = visit.context()[context.id];
  const note = context.options.find((each) => each.id === chosen && each.note);
  const buttons = context.options.map((option) => {
    const on = chosen === option.id;
    const button = makeButton(option.name, () => {
      visit.setContext(context.id, on ? null : option.id);
      draw(false);
      const again = contextPlace.querySelector('[data-option="' + context.id + ":" + option.id + '"]');
      focusOn(again);
    });
    button.setAttribute("aria-pressed", on ? "true" : "false");
    button.setAttribute("data-option", context.id + ":" + option.id);
    return button;
  });
  return make("div", { role: "group", "aria-label": context.ask, class: "bl-context" }, [
    make("p", { class: "bl-context-ask" }, [context.ask]),
    make("div", { class: "bl-context-options" }, buttons),
    note ? make("p", { class: "bl-context-note" }, [note.note]) : null,
  ]);
}

function drawContexts() {
  const open = contextPlace.querySelector("details[open]") !== null;
  contextPlace.textContent = "";
  if (!data.contexts.length) {
    return;
  }
  const rest = data.contexts.slice(1).map(drawContext);
  const more = make("details", open ? { open: "" } : {}, [
    make("summary", {}, [words["more-context"]]),
    ...rest,
  ]);
  contextPlace.append(drawContext(data.contexts[0]), rest.length ? more : "");
}

/* Pictures that do not come in question are hidden, unless one was picked. */
function sieveSigns() {
  const open = twin.list_open_signs(network, data.guide, visit.told().context);
  const tiles = /** @type {HTMLElement[]} */ (Array.from(grid.querySelectorAll("button[data-id]")));
  tiles.forEach((tile) => {
    const id = tile.dataset.id || "";
    const said = visit.find(id);
    tile.setAttribute("aria-pressed", said && said.picked ? "true" : "false");
    const place = /** @type {HTMLElement} */ (tile.parentElement);
    place.hidden = open.indexOf(id) < 0 && !said;
  });
}
