/* The diagnosis page: pictures to choose, one question at a time, a plan at the end. What is
   likely, what to ask and what to do first is worked out by the model written from Python (benchlore.twin); here is only what is shown. The state stands in the address, so it can be sent. */

(function () {
  "use strict";
  var root = document.querySelector("[data-bl-diagnosis]");
  var source = document.querySelector("[data-bl-consultation]");
  if (!root || !source || !window.benchlore || !benchlore.twin || !benchlore.twin.infer) {
    return;
  }
  var data = JSON.parse(source.textContent);
  var network = benchlore.twin.index_network(data.network);
  var index = [document.querySelector(".bl-sign-index"), document.getElementById("signs")];
  var grid = index[0];
  var meanings = document.getElementById("meanings");
  if (meanings) {
    index.push(meanings.closest("section") || meanings);
  }
  /* Keys of the address: what was picked, and what was answered. */
  var LISTS = { see: "present", has: "present", not: "absent", yes: "yes", no: "no", skip: "skipped" };

  /* What was told, in the order it was told: {id, list}. Pictures come first. */
  var told = [];
  var stage = "pick";
  var more = false;

  function make(tag, attributes, children) {
    var element = document.createElement(tag);
    Object.keys(attributes || {}).forEach(function (name) {
      if (name === "html") {
        element.innerHTML = attributes[name];
      } else if (name === "press") {
        element.addEventListener("click", attributes[name]);
      } else if (name === "style") {
        element.style.cssText = attributes[name]; // as an attribute the page's policy forbids it
      } else if (attributes[name] !== null) {
        element.setAttribute(name, attributes[name]);
      }
    });
    (children || []).forEach(function (child) {
      if (child !== null && child !== undefined) {
        element.appendChild(typeof child === "string" ? document.createTextNode(child) : child);
      }
    });
    return element;
  }

  function button(words, press, kind) {
    return make("button", { type: "button", class: "bl-press" + (kind || ""), press: press }, [words]);
  }

  function findings() {
    var found = { present: [], absent: [], yes: [], no: [], skipped: [] };
    told.forEach(function (one) {
      found[one.list].push(one.id);
    });
    return found;
  }

  function picked() {
    return told.filter(function (one) {
      return one.picked;
    });
  }

  /* ---- the address ---- */

  function nameKey(one) {
    if (one.list === "present") {
      return one.picked ? "see" : "has";
    }
    return Object.keys(LISTS).filter(function (key) { return LISTS[key] === one.list; })[0];
  }

  /* Each step is an address of its own, so that the browser's own way back works too. */
  function write(moved) {
    var parts = told.map(function (one) { return nameKey(one) + "=" + one.id; });
    if (more) {
      parts.push("step=more");
    } else if (stage !== "pick") {
      parts.push("step=" + stage);
    }
    var hash = parts.length ? "#" + parts.join("&") : "";
    if (hash === location.hash || (!hash && location.hash.indexOf("=") < 0)) {
      return;
    }
    try {
      history[moved ? "pushState" : "replaceState"](null, "", location.href.split("#")[0] + hash);
    } catch (error) {
      /* Some browsers keep a page in a folder from changing its address; nothing else depends on it. */
    }
  }

  function read() {
    told = [];
    stage = "pick";
    more = false;
    location.hash.replace(/^#/, "").split("&").forEach(function (part) {
      var key = part.split("=")[0];
      var value = part.slice(key.length + 1);
      if (key === "step") {
        more = value === "more";
        stage = value === "plan" ? "plan" : more || value === "ask" ? "ask" : stage;
      } else if (LISTS.hasOwnProperty(key)) {
        var sign = data.symptoms.hasOwnProperty(value);
        var asked = data.questions.hasOwnProperty(value);
        var seen = LISTS[key] === "present" || key === "not";
        var known = told.some(function (one) { return one.id === value; });
        if (!known && (seen ? sign : key === "skip" ? sign || asked : asked)) {
          told.push({ id: value, list: LISTS[key], picked: key === "see" });
        }
      }
    });
    if (!picked().length) {
      told = [];
      stage = "pick";
      more = false;
    }
  }

  /* ---- parts ---- */

  function word(probability) {
    return data.words.filter(function (pair) { return probability >= pair[0]; })[0][1];
  }

  function pictureOf(name) {
    var tile = grid.querySelector('[data-bl-picture="' + name + '"] svg');
    return tile ? make("span", { class: "bl-small-picture" }, [tile.cloneNode(true)]) : null;
  }

  function row(entry, name, link, notes, picture) {
    var filled = Math.max(0.02, Math.min(1, entry.probability));
    return make("li", { "data-id": entry.id, class: picture ? "bl-pictured" : null }, [
      picture,
      make("a", { href: link }, [name]),
      make("span", { class: "bl-likely" }, [word(entry.probability)]),
      make("span", { class: "bl-gauge", "aria-hidden": "true" }, [
        make("span", { style: "inline-size:" + (filled * 100).toFixed(1) + "%" }),
      ]),
      notes && notes.length ? make("span", { class: "bl-because" }, ["because: " + notes.join("; ")]) : null,
    ]);
  }

  function quote(sign, id, yes) {
    if (sign) {
      return (yes ? "you see “" : "you do not see “") + data.symptoms[id].name + "”";
    }
    return "you said " + (yes ? "yes" : "no") + " to “" + data.questions[id].ask + "”";
  }

  function reasons(because) {
    return because
      .filter(function (reason) { return reason.bits > 0; })
      .slice(0, 3)
      .map(function (reason) {
        return quote(reason.kind === "symptom", reason.id, reason.answer === "yes");
      });
  }

  function shown(list, most) {
    return list
      .filter(function (entry) { return entry.linked && entry.probability >= 0.02; })
      .slice(0, most);
  }

  function listDefects(result, most) {
    var items = shown(result.defects, most || 4).map(function (entry) {
      var defect = data.defects[entry.id];
      return row(entry, defect.name, defect.link, null, pictureOf(defect.picture));
    });
    return make("ol", { class: "bl-ranking", "data-bl-ranking": "defects" }, items);
  }

  function listCauses(result, most) {
    var causes = shown(result.causes, most);
    var ids = causes.map(function (entry) { return entry.id; });
    var because = {};
    benchlore.twin.explain(network, findings(), ids).forEach(function (one) {
      because[one.id] = one.because;
    });
    var items = causes.map(function (entry) {
      var cause = data.causes[entry.id];
      return row(entry, cause.name, cause.link, reasons(because[entry.id] || []));
    });
    return make("ol", { class: "bl-ranking", "data-bl-ranking": "causes" }, items);
  }

  /* Rows glide from where they stood; not where the reader asks for no motion. */
  function glide(before) {
    if (!window.matchMedia || matchMedia("(prefers-reduced-motion: reduce)").matches) {
      return;
    }
    root.querySelectorAll(".bl-ranking > li").forEach(function (item) {
      var key = item.parentNode.getAttribute("data-bl-ranking") + item.getAttribute("data-id");
      var old = before[key];
      if (old === undefined || !item.animate) {
        return;
      }
      var moved = old - item.offsetTop;
      if (moved) {
        item.animate([{ transform: "translateY(" + moved + "px)" }, { transform: "none" }], { duration: 350, easing: "ease-out" });
      }
    });
  }

  function places() {
    var found = {};
    root.querySelectorAll(".bl-ranking > li").forEach(function (item) {
      found[item.parentNode.getAttribute("data-bl-ranking") + item.getAttribute("data-id")] = item.offsetTop;
    });
    return found;
  }

  /* ---- the three stages ---- */

  function drawPick(result) {
    var count = picked().length;
    if (!count) {
      return [make("p", { class: "bl-quiet" }, ["Choose one picture or more. What it may be then shows here."])];
    }
    var question = questionFor(result);
    var parts = [make("h3", {}, ["What it may be"]), listDefects(result, 2)];
    if (question) {
      parts.push(drawQuestion(question, "h3", {}), drawAnswers(question));
    }
    parts.push(
      make("div", { class: "bl-buttons" }, [
        button("Show the plan", function () { go("plan"); }, question ? "" : " bl-main"),
        button("Start over", startOver),
      ])
    );
    return parts;
  }

  function entryOf(question) {
    return question.kind === "symptom" ? data.symptoms[question.id] : data.questions[question.id];
  }

  function drawQuestion(question, tag, attributes) {
    var entry = entryOf(question);
    attributes["data-bl-question"] = question.id;
    return make(tag, attributes, [question.kind === "symptom" ? "Do you see this: " + entry.name + "?" : entry.ask]);
  }

  function drawAnswers(question) {
    var sign = question.kind === "symptom";
    function answer(list) {
      return function () {
        told.push({ id: question.id, list: list });
        go("ask");
      };
    }
    return make("div", { class: "bl-three" }, [
      button("Yes", answer(sign ? "present" : "yes"), " bl-choice"),
      button("No", answer(sign ? "absent" : "no"), " bl-choice"),
      button("Don't know", answer("skipped"), " bl-choice"),
    ]);
  }

  function questionFor(result) {
    if (!more && benchlore.twin.is_settled(result.causes)) {
      return null;
    }
    return benchlore.twin.choose_question(network, findings());
  }

  function drawAsk(result, question) {
    var asked = told.length - picked().length + 1;
    var entry = entryOf(question);
    return [
      make("p", { class: "bl-quiet" }, ["Question " + asked]),
      drawQuestion(question, "h2", { class: "bl-title", tabindex: "-1" }),
      make("div", { html: (question.kind === "symptom" ? entry.text : entry.explain) || "" }),
      drawAnswers(question),
      make("div", { class: "bl-buttons" }, [
        button("Back", back),
        button("Show the plan", function () { go("plan"); }),
        button("Start over", startOver),
      ]),
      make("h3", {}, ["What it may be"]),
      listDefects(result),
      make("h3", {}, ["Why"]),
      listCauses(result, 5),
    ];
  }

  function drawCautions(ids) {
    var items = ids.map(function (id) {
      var caution = data.cautions[id];
      return make("li", { class: "bl-caution-line bl-" + caution.signal.toLowerCase() }, [
        make("strong", {}, [caution.signal + ": "]),
        make("a", { href: caution.link }, [caution.title]),
        ". " + caution.do,
      ]);
    });
    return items.length ? make("ul", { class: "bl-caution-lines" }, items) : null;
  }

  function drawFix(fix, place) {
    var entry = data.fixes[fix.id];
    var how = make("details", {}, [
      make("summary", {}, ["How to do it", make("span", { class: "bl-hidden" }, [": " + entry.name])]),
      make("ol", {}, entry.steps.map(function (step) { return make("li", { html: step }); })),
    ]);
    how.open = place === 0;
    return make("li", { class: "bl-plan-fix" }, [
      make("h4", {}, [make("a", { href: entry.link }, [entry.name])]),
      make("p", {}, [entry.summary + " ", make("span", { class: "bl-quiet" }, ["(" + entry.time + ")"])]),
      drawCautions(entry.cautions),
      how,
    ]);
  }

  /* What must be known before anything is done with the thing: whether it may be used at all. */
  function drawUse(defects, lost) {
    var boxes = [];
    defects.forEach(function (entry) {
      var defect = data.defects[entry.id];
      if (entry.probability >= data.serious && (defect.use || defect.cautions.length)) {
        boxes.push(make("div", { class: "bl-usable" + (lost ? " bl-usable-not" : "") }, [
          make("p", { class: "bl-usable-head" }, [defect.name + ": may it still be used?"]),
          defect.use ? make("div", { html: defect.use }) : null,
          drawCautions(defect.cautions),
        ]));
      }
    });
    return boxes;
  }

  function drawLead(result) {
    var defect = shown(result.defects, 1)[0];
    var cause = shown(result.causes, 1)[0];
    if (!defect || !cause) {
      return make("p", {}, ["Nothing in this course explains that."]);
    }
    return make("p", { class: "bl-summary" }, [
      make("a", { href: data.defects[defect.id].link }, [data.defects[defect.id].name]),
      ", " + word(defect.probability) + ". Behind it: ",
      make("a", { href: data.causes[cause.id].link }, [data.causes[cause.id].name]),
      ", " + word(cause.probability) + ".",
    ]);
  }

  function drawTold() {
    return make("ul", { class: "bl-told-list" }, told.map(function (one) {
      var sign = data.symptoms.hasOwnProperty(one.id) && one.list !== "yes" && one.list !== "no";
      if (one.list === "skipped") {
        var entry = sign ? data.symptoms[one.id].name : data.questions[one.id].ask;
        return make("li", {}, ["You do not know: “" + entry + "”"]);
      }
      var words = quote(sign, one.id, one.list === "present" || one.list === "yes");
      return make("li", {}, [words.charAt(0).toUpperCase() + words.slice(1)]);
    }));
  }

  function drawPlan(result) {
    var fixes = benchlore.twin.rank_fixes(network, result.causes);
    var now = fixes.filter(function (fix) { return fix.when === "now"; });
    var lost = now.length > 0 && data.fixes[now[0].id].discards;
    now = now.filter(function (fix) { return !lost || data.fixes[fix.id].discards; }).slice(0, 2);
    var next = fixes.filter(function (fix) { return fix.when === "next"; }).slice(0, 3);
    var question = benchlore.twin.choose_question(network, findings());
    var leads = [];
    shown(result.causes, 1).forEach(function (best) {
      ["lesson", "calculator"].forEach(function (kind) {
        var lead = data.causes[best.id][kind];
        if (lead) {
          leads.push(make("li", {}, [
            kind === "lesson" ? "The lesson that teaches it: " : "To work it out: ",
            make("a", { href: lead.link }, [lead.name]),
          ]));
        }
      });
    });
    return [
      make("h2", { class: "bl-title", tabindex: "-1", "data-bl-plan": "" }, ["The plan"]),
      result.possible ? null : make("p", {}, ["These answers can hardly all be so at once. Go back and look at them again."]),
      drawLead(result),
    ].concat(drawUse(shown(result.defects, 2), lost), [
      make("h3", {}, [lost ? "This " + data.thing.one + " cannot be saved" : "Save this " + data.thing.one]),
      now.length ? make("ul", { class: "bl-plan" }, now.map(drawFix)) : make("p", {}, ["Nothing is known that saves this one."]),
      make("h3", {}, ["Next time"]),
      next.length ? make("ul", { class: "bl-plan" }, next.map(drawFix)) : make("p", {}, ["Nothing is known to change."]),
      leads.length ? make("ul", {}, leads) : null,
      make("div", { class: "bl-buttons" }, [
        button("Print", function () { window.print(); }),
        button("Copy the link", copyLink),
        question ? button("Ask me more", function () { more = true; go("ask"); }) : null,
        button("Back", back),
        button("Start over", startOver),
      ]),
      make("p", { role: "status", "data-bl-copied": "" }),
      make("h3", {}, ["What it may be"]),
      listDefects(result),
      make("h3", {}, ["Why"]),
      listCauses(result, 3),
      make("p", { class: "bl-quiet" }, ["How likely is a teacher's judgement, not a measurement. More than one thing can be wrong at once."]),
      make("h3", {}, ["What you saw and answered"]),
      drawTold(),
    ]);
  }

  function copyLink() {
    var said = root.querySelector("[data-bl-copied]");
    function tell(words) {
      said.textContent = words;
    }
    if (navigator.clipboard && navigator.clipboard.writeText) {
      navigator.clipboard.writeText(location.href).then(
        function () { tell("The link is copied. It holds what you saw and answered, and nothing else."); },
        function () { tell("Copy the address from the browser's own line."); }
      );
    } else {
      tell("Copy the address from the browser's own line.");
    }
  }

  /* ---- moving about ---- */

  function go(where) {
    stage = where;
    draw(true);
  }

  /* From a plan asked for early back to the question; otherwise the last answer is taken back. */
  function back() {
    if (stage === "plan" && questionFor(benchlore.twin.infer(network, findings()))) {
      stage = "ask";
    } else if (told.length > picked().length) {
      told.pop();
      stage = "ask";
    } else {
      stage = "pick";
    }
    more = more && stage === "ask" && benchlore.twin.is_settled(benchlore.twin.infer(network, findings()).causes);
    draw(true);
  }

  function startOver() {
    told = [];
    stage = "pick";
    more = false;
    draw(true);
    var first = grid.querySelector("button");
    if (first) {
      first.focus();
    }
  }

  function toggle(id) {
    var there = told.some(function (one) { return one.id === id; });
    told = told.filter(function (one) { return one.id !== id; });
    if (!there) {
      told.push({ id: id, list: "present", picked: true });
      told.sort(function (one, other) { return (other.picked ? 1 : 0) - (one.picked ? 1 : 0); });
    }
    draw(false);
    var tile = grid.querySelector('button[data-id="' + id + '"]');
    if (!there && tile && window.matchMedia("(max-width: 30em)").matches) {
      tile.scrollIntoView({ block: "nearest" }); // above the panel, which has just come up
    }
  }

  function draw(moved) {
    var before = places();
    var result = benchlore.twin.infer(network, findings());
    var question = stage === "ask" ? questionFor(result) : null;
    if (stage === "ask" && question === null) {
      stage = "plan";
    }
    var parts = stage === "pick" ? drawPick(result) : stage === "ask" ? drawAsk(result, question) : drawPlan(result);
    panel.textContent = "";
    parts.forEach(function (part) {
      if (part) {
        panel.appendChild(part);
      }
    });
    panel.setAttribute("data-bl-stage", stage);
    var first = shown(result.causes, 1)[0];
    var fault = shown(result.defects, 1)[0];
    voice.textContent = !first || !fault ? "" : stage === "pick"
      ? "It may be: " + data.defects[fault.id].name + ", " + word(fault.probability) + "."
      : "Likeliest cause now: " + data.causes[first.id].name + ", " + word(first.probability) + ".";
    grid.querySelectorAll("button").forEach(function (tile) {
      var on = told.some(function (one) { return one.id === tile.getAttribute("data-id") && one.picked; });
      tile.setAttribute("aria-pressed", on ? "true" : "false");
    });
    index.forEach(function (part) {
      if (part) {
        part.hidden = stage !== "pick";
      }
    });
    root.setAttribute("data-bl-at", stage === "pick" && picked().length ? "picked" : stage);
    write(moved);
    glide(before);
    if (moved) {
      var heading = panel.querySelector("[tabindex]");
      if (heading) {
        heading.focus({ preventScroll: true });
        root.scrollIntoView({ block: "start" });
      }
    }
  }

  /* ---- set up: the pictures become buttons, the panel follows them ---- */

  grid.querySelectorAll("a[data-bl-sign]").forEach(function (link) {
    var id = link.getAttribute("data-bl-sign");
    var tile = make("button", { type: "button", "data-id": id, "data-bl-picture": link.getAttribute("data-bl-picture"), "aria-pressed": "false", press: function () { toggle(id); } });
    while (link.firstChild) {
      tile.appendChild(link.firstChild);
    }
    link.parentNode.replaceChild(tile, link);
  });
  var panel = make("div", { class: "bl-stage" });
  var voice = make("p", { class: "bl-hidden", "aria-live": "polite" });
  root.appendChild(panel);
  root.appendChild(voice);
  root.hidden = false;
  read();
  draw(false);
  function follow() {
    if (location.hash.indexOf("=") > 0 || !location.hash) {
      read();
      draw(false);
    }
  }
  window.addEventListener("popstate", follow);
})();
