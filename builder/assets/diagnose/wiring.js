/* Moving about between the stages, and setting up: the pictures become buttons. */

/** @param {string} stage */
function go(stage) {
  visit.stage = stage;
  draw(true);
}

function giveUp() {
  visit.fits = false;
  go("plan");
}

/** @param {any} plan */
function canAskMore(plan) {
  if (!visit.fits || !visit.picked().length || plan.stop.length) {
    return false;
  }
  return twin.make_plan(network, data.guide, { ...visit.told(), more: true }).next_question !== null;
}

function askMore() {
  visit.more = makePlan().next_question === null;
  go("ask");
}

/* From a plan asked for early back to the question; otherwise the last answer is taken back. */
function back() {
  const said = visit.said();
  const last = said[said.length - 1];
  if (!visit.fits) {
    visit.fits = true;
    visit.stage = said.length ? "ask" : "pick";
  } else if (visit.stage === "plan" && makePlan().next_question) {
    visit.stage = "ask";
  } else if (last && !last.picked) {
    visit.take(last.id);
    visit.stage = "ask";
  } else {
    visit.stage = "pick";
  }
  visit.more = false;
  draw(true);
}

function startOver() {
  visit.clear();
  draw(true);
  focusOn(grid.querySelector("li:not([hidden]) button"));
}

/** @param {string} id */
function toggle(id) {
  const there = visit.find(id);
  if (there) {
    visit.take(id);
  } else {
    visit.put(id, "present", true);
  }
  draw(false);
  const tile = grid.querySelector('button[data-id="' + id + '"]');
  if (!there && tile && window.matchMedia("(max-width: 30em)").matches) {
    tile.scrollIntoView({ block: "nearest" }); // above the panel, which has just come up
  }
}

/** @param {any} plan */
function speak(plan) {
  const lines = writeLines(plan);
  const first = lines.find((line) => line.role === "lead");
  voice.textContent = plan.stop.length + plan.hold.length ? lines[0].text : first ? first.text : "";
}

/** What is shown while pictures are chosen, and hidden later. */
function listIndex() {
  const heading = document.getElementById("signs");
  const meanings = document.getElementById("meanings");
  const places = [grid, contextPlace, heading, meanings && (meanings.closest("section") || meanings)];
  return /** @type {HTMLElement[]} */ (places.filter((part) => part !== null));
}

/** @param {boolean} moved */
function draw(moved) {
  const before = listPlaces();
  const plan = makePlan();
  if (visit.stage === "ask" && plan.next_question === null) {
    visit.stage = "plan";
  }
  const stage = visit.stage;
  const parts = stage === "pick" ? drawPick(plan) : stage === "ask" ? drawAsk(plan) : drawPlan(plan);
  panel.textContent = "";
  panel.append(...parts.filter((part) => part !== null));
  panel.setAttribute("data-bl-stage", stage);
  speak(plan);
  drawContexts();
  sieveSigns();
  listIndex().forEach((part) => {
    part.hidden = stage !== "pick";
  });
  root.setAttribute("data-bl-at", stage === "pick" && visit.picked().length ? "picked" : stage);
  visit.write(moved);
  glide(before);
  const heading = panel.querySelector("[tabindex]");
  if (moved && heading) {
    focusOn(heading);
    root.scrollIntoView({ block: "start" });
  }
}

grid.querySelectorAll("a[data-bl-sign]").forEach((link) => {
  const id = link.getAttribute("data-bl-sign") || "";
  const picture = link.getAttribute("data-bl-picture") || "";
  const tile = makeButton("", () => toggle(id));
  tile.className = "";
  tile.setAttribute("data-id", id);
  tile.setAttribute("data-bl-picture", picture);
  tile.append(...link.childNodes);
  link.replaceWith(tile);
});
root.append(panel, voice);
root.hidden = false;
visit.read();
draw(false);
window.addEventListener("popstate", () => {
  if (location.hash.indexOf("=") > 0 || !location.hash) {
    visit.read();
    draw(false);
  }
});
