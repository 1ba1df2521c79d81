/* The three stages: pictures to pick, one question at a time, the plan. */

/** @param {any} plan */
function drawPick(plan) {
  const none = makeButton(words.none, giveUp);
  if (!visit.picked().length) {
    return [make("p", { class: "bl-quiet" }, [words.choose]), make("div", { class: "bl-buttons" }, [none])];
  }
  const stop = plan.stop.length + plan.hold.length > 0;
  const lines = writeLines(plan);
  const first = lines.find((line) => line.role === "lead") || lines[0];
  const line = make("p", { class: "bl-line" + (stop ? " bl-line-stop" : "") }, [
    stop ? lines[0].text : first ? first.text : "",
  ]);
  const onward = () => go(plan.next_question ? "ask" : "plan");
  const ask = plan.next_question && plan.next_question.kind !== "context" ? plan.next_question : null;
  return [
    make("div", { class: "bl-line-row" }, [line, makeButton(words["go-on"], onward, "bl-main")]),
    make("div", { class: "bl-below-line" }, [
      ...(stop ? drawLines(data, lines.filter((each) => /^(stop|hold)/.test(each.role))) : []),
      plan.leads.length && !plan.stop.length ? listDefects(plan.leads, 2) : null,
      ask ? drawQuestion(ask, "h3", {}) : null,
      ask ? drawAnswers(ask) : null,
      make("div", { class: "bl-buttons" }, [
        makeButton(words["show-plan"], () => go("plan")),
        makeButton(words.over, startOver),
      ]),
    ]),
  ];
}

/**
 * @param {any} question
 * @param {string} tag
 * @param {Object<string, string|null>} attributes
 */
function drawQuestion(question, tag, attributes) {
  const text = twin.word_question(data.texts, question).text;
  return make(tag, { ...attributes, "data-bl-question": question.id }, [text]);
}

/** @param {any} question */
function drawAnswers(question) {
  if (question.kind === "context") {
    return drawOptions(question);
  }
  const sign = question.kind === "symptom";
  /** @param {Said["list"]} list */
  const answer = (list) => () => {
    visit.put(question.id, list, false);
    go("ask");
  };
  return make("div", { class: "bl-three" }, [
    makeButton(words.yes, answer(sign ? "present" : "yes"), "bl-choice"),
    makeButton(words.no, answer(sign ? "absent" : "no"), "bl-choice"),
    makeButton(words.unknown, answer("skipped"), "bl-choice"),
  ]);
}

/** @param {any} question */
function drawOptions(question) {
  const context = data.contexts.find((each) => each.id === question.id);
  /** @param {string} option */
  const choose = (option) => () => {
    visit.setContext(context.id, option);
    go("ask");
  };
  const buttons = context.options.map((each) => makeButton(each.name, choose(each.id), "bl-choice"));
  return make("div", { class: "bl-options" }, [...buttons, makeButton(words.skip, choose(""), "bl-choice")]);
}

/** @param {any} plan */
function drawAsk(plan) {
  const question = plan.next_question;
  const asked = visit.said().length - visit.picked().length + 1;
  const explained = isSign(question.id) ? data.symptoms[question.id] : data.questions[question.id];
  const stop = writeLines(plan).filter((line) => /^(stop|hold)/.test(line.role));
  return [
    ...drawLines(data, stop),
    make("p", { class: "bl-quiet" }, [words.question + asked]),
    drawQuestion(question, "h2", { class: "bl-title", tabindex: "-1" }),
    makeOf("div", question.kind === "context" ? "" : explained || ""),
    drawAnswers(question),
    make("div", { class: "bl-buttons" }, [
      makeButton(words.back, back),
      makeButton(words.plan, () => go("plan")),
      makeButton(words.none, giveUp),
      makeButton(words.over, startOver),
    ]),
    plan.leads.length ? make("h3", {}, [words["may-be"]]) : null,
    listDefects(plan.leads, 3),
    drawTold(false),
  ];
}

/** @param {any} plan */
function drawPlan(plan) {
  const shown = plan.leads.length > 0;
  return [
    make("h2", { class: "bl-title", tabindex: "-1", "data-bl-plan": "" }, [words["the-plan"]]),
    ...drawLines(data, writeLines(plan)),
    shown ? drawLessons(plan) : null,
    make("div", { class: "bl-buttons" }, [
      makeButton(words.print, () => window.print()),
      makeButton(words.copy, copyLink),
      canAskMore(plan) ? makeButton(words["ask-more"], askMore) : null,
      makeButton(words.back, back),
      makeButton(words.over, startOver),
    ]),
    make("p", { role: "status", "data-bl-said": "" }, []),
    drawKeep(),
    shown ? make("h3", {}, [words.why]) : null,
    shown ? listCauses(plan.causes, 3) : null,
    shown ? make("p", { class: "bl-quiet" }, [words.judgement]) : null,
    drawTold(true),
  ];
}

/** @param {any} plan */
function drawLessons(plan) {
  /** @type {HTMLElement[]} */
  const items = [];
  plan.leads.slice(0, 1).forEach((lead) => {
    lead.causes.slice(0, 1).forEach((cause) => {
      ["lesson", "calculator"].forEach((kind) => {
        const place = data.causes[cause.id][kind];
        if (place) {
          const link = make("a", { href: place.link }, [place.name]);
          items.push(make("li", {}, [words[kind], link]));
        }
      });
    });
  });
  return items.length ? make("ul", {}, items) : null;
}

/** What was told, each with its answers to change in place. */
/** @param {boolean} open */
function drawTold(open) {
  const rows = visit.said().map((one) => {
    const sign = isSign(one.id) && one.list !== "yes" && one.list !== "no";
    /** @type {[Said["list"], string][]} */
    const answers = sign
      ? [["present", words.yes], ["absent", words.no], ["skipped", words.unknown]]
      : [["yes", words.yes], ["no", words.no], ["skipped", words.unknown]];
    const buttons = answers.map(([list, text]) => {
      const button = makeButton(text, () => {
        visit.put(one.id, list, one.picked);
        draw(false);
        const again = panel.querySelector('[data-told="' + one.id + ":" + list + '"]');
        focusOn(again);
      }, "bl-small-choice");
      button.setAttribute("aria-pressed", one.list === list ? "true" : "false");
      button.setAttribute("data-told", one.id + ":" + list);
      return button;
    });
    const name = nameOf(isSign(one.id) ? "symptom" : "question", one.id);
    return make("li", {}, [
      make("span", {}, [name]),
      make("div", { role: "group", "aria-label": name, class: "bl-told-answers" }, buttons),
    ]);
  });
  if (!rows.length) {
    return null;
  }
  const was = /** @type {HTMLDetailsElement|null} */ (panel.querySelector(".bl-told"));
  return make("details", { class: "bl-told", ...(open || (was && was.open) ? { open: "" } : {}) }, [
    make("summary", {}, [words.told]),
    make("p", { class: "bl-quiet" }, [words.change]),
    make("ul", { class: "bl-told-list" }, rows),
  ]);
}
