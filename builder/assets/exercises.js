/* Exercises on a lesson's page: answer, check, hint, another one like it. Marking itself is
   written from the builder's Python (benchlore.twin); here is only what is shown. Progress stays in
   this browser. Without this script every exercise stands as text with its worked solution. */

(function () {
  "use strict";
  var benchlore = (window.benchlore = window.benchlore || {});
  var KEY = "benchlore-practice";
  var LETTERS = "ABCDEFGHIJKL";

  /* ---- progress: in this browser only, and only where it allows ---- */

  var kept = null;

  function isRecord(value) {
    return typeof value === "object" && value !== null && !Array.isArray(value);
  }

  function isCount(value) {
    return typeof value === "number" && isFinite(value) && value >= 0 && value < 1e6 && value % 1 === 0;
  }

  /* Keeps what has the shape of progress, drops the rest: a file may hold anything. */
  function sift(value) {
    var clean = {};
    if (!isRecord(value)) {
      return clean;
    }
    Object.keys(value).forEach(function (lesson) {
      var exercises = value[lesson];
      if (!/^[a-z0-9-]{1,80}$/.test(lesson) || !isRecord(exercises)) {
        return;
      }
      Object.keys(exercises).forEach(function (name) {
        var one = exercises[name];
        if (/^[a-z0-9-]{1,80}$/.test(name) && isRecord(one) && isCount(one.tried) && isCount(one.solved)) {
          clean[lesson] = clean[lesson] || {};
          clean[lesson][name] = { tried: one.tried, solved: one.solved };
        }
      });
    });
    return clean;
  }

  function recall() {
    if (kept === null) {
      try {
        kept = sift(JSON.parse(window.localStorage.getItem(KEY) || "{}"));
      } catch (error) {
        kept = {};
      }
    }
    return kept;
  }

  function remember(progress) {
    kept = progress;
    try {
      window.localStorage.setItem(KEY, JSON.stringify(progress));
    } catch (error) {
      /* it holds for this page only */
    }
  }

  function count(lesson, name) {
    var one = (recall()[lesson] || {})[name];
    return one || { tried: 0, solved: 0 };
  }

  function note(lesson, name, right) {
    var progress = recall();
    var one = count(lesson, name);
    progress[lesson] = progress[lesson] || {};
    progress[lesson][name] = { tried: one.tried + 1, solved: one.solved + (right ? 1 : 0) };
    remember(progress);
  }

  /* ---- small pieces ---- */

  function make(tag, attributes, words) {
    var element = document.createElement(tag);
    Object.keys(attributes || {}).forEach(function (name) {
      element.setAttribute(name, attributes[name]);
    });
    if (words) {
      element.textContent = words;
    }
    return element;
  }

  function makeButton(words, press) {
    var button = make("button", { type: "button", class: "bl-press" }, words);
    button.addEventListener("click", press);
    return button;
  }

  function plain(html) {
    var holder = document.createElement("div");
    holder.innerHTML = html;
    return holder.textContent.trim();
  }

  /* ---- one exercise ---- */

  function Exercise(panel, lesson, changed) {
    this.panel = panel;
    this.lesson = lesson;
    this.name = panel.dataset.blExercise;
    this.changed = changed;
    var data = JSON.parse(panel.querySelector("[data-bl-variants]").textContent);
    this.kind = data.kind;
    this.variants = data.variants;
    this.field = data.field;
    this.units = data.units;
    this.place = 0;
    this.ask = panel.querySelector("[data-bl-ask]");
    this.drawing = panel.querySelector("[data-bl-drawing]");
    this.answer = panel.querySelector("[data-bl-answer]");
    this.figure = this.answer.textContent.trim();
    this.solution = panel.querySelector("[data-bl-solution]");
    this.work = panel.querySelector("[data-bl-work]");
    this.build();
    this.show();
  }

  Exercise.prototype.build = function () {
    var self = this;
    this.form = make("form", { novalidate: "", class: "bl-attempt" });
    this.fields = make("div", { class: "bl-attempt-fields" });
    this.check = make("button", { type: "submit", class: "bl-press bl-press-main" }, "Check");
    this.hint = makeButton("Hint", function () {
      self.say("hint", "Hint", self.variants[self.place].hint);
    });
    this.next = makeButton("Another one like it", function () {
      self.place = (self.place + 1) % self.variants.length;
      self.show();
      self.ask.focus();
    });
    this.told = make("div", { class: "bl-told", role: "status", "aria-live": "polite" });
    var row = make("div", { class: "bl-presses" });
    row.append(this.check, this.hint, this.next);
    this.form.append(this.fields, row, this.told);
    this.form.addEventListener("submit", function (event) {
      event.preventDefault();
      self.mark();
    });
    this.ask.setAttribute("tabindex", "-1");
    this.answer.before(this.form);
    this.answer.classList.add("bl-paper-only");
    this.next.hidden = this.variants.length < 2;
  };

  Exercise.prototype.show = function () {
    var variant = this.variants[this.place];
    this.ask.innerHTML = variant.ask;
    if (this.drawing && variant.drawing !== undefined) {
      var picture = document.querySelector('[data-bl-picture="' + variant.drawing + '"]');
      this.drawing.replaceChildren(picture.content.cloneNode(true));
    }
    this.solution.open = false;
    this.work.innerHTML = "<p><strong></strong></p>" + variant.work;
    this.work.querySelector("strong").textContent = variant.answer;
    this.hint.hidden = !variant.hint;
    this.told.replaceChildren();
    this.told.className = "bl-told";
    this.fields.replaceChildren();
    if (variant.options) {
      var list = make("ol", { class: "bl-options", type: "A" });
      variant.options.forEach(function (option) {
        var item = make("li", {});
        item.innerHTML = option;
        list.append(item);
      });
      this.answer.replaceChildren(list);
    }
    if (this.kind === "choose" || this.kind === "fault" || this.kind === "plan") {
      this.showChoices(variant);
    } else if (this.kind === "order") {
      this.order = variant.options.map(function (option, place) {
        return place;
      });
      this.showOrder(variant);
    } else {
      this.showNumber(variant);
    }
  };

  Exercise.prototype.showNumber = function () {
    var id = "answer-" + this.name;
    var unit = this.figure.match(/^Answer in (.+?), /);
    this.input = make("input", {
      id: id,
      type: "text",
      inputmode: "decimal",
      autocomplete: "off",
      maxlength: "40",
      "aria-describedby": id + "-figure",
    });
    var line = make("div", { class: "bl-attempt-line" });
    line.append(this.input);
    if (unit) {
      line.append(make("span", { "aria-hidden": "true" }, unit[1]));
    }
    this.fields.append(
      make("label", { for: id }, "Your answer"),
      line,
      make("p", { id: id + "-figure", class: "bl-quiet" }, this.figure)
    );
  };

  Exercise.prototype.showChoices = function (variant) {
    var self = this;
    var field = make("fieldset", { class: "bl-choices" });
    field.append(make("legend", {}, "Choose one"));
    variant.options.forEach(function (option, place) {
      var label = make("label", {});
      var words = make("span", {});
      words.innerHTML = option;
      label.append(
        make("input", { type: "radio", name: "choice-" + self.name, value: String(place) }),
        make("b", {}, LETTERS[place]),
        words
      );
      field.append(label);
    });
    this.fields.append(field);
  };

  Exercise.prototype.showOrder = function (variant) {
    var self = this;
    var list = make("ol", { class: "bl-sorting" });
    this.order.forEach(function (option, place) {
      var item = make("li", {});
      var words = make("span", {});
      words.innerHTML = variant.options[option];
      var up = makeButton("↑", function () {
        self.move(place, place - 1);
      });
      var down = makeButton("↓", function () {
        self.move(place, place + 1);
      });
      up.setAttribute("aria-label", "Move up: " + words.textContent);
      down.setAttribute("aria-label", "Move down: " + words.textContent);
      up.disabled = place === 0;
      down.disabled = place === self.order.length - 1;
      item.append(make("b", {}, LETTERS[option]), words, up, down);
      list.append(item);
    });
    this.fields.replaceChildren(list);
  };

  Exercise.prototype.move = function (from, to) {
    var taken = this.order.splice(from, 1)[0];
    var variant = this.variants[this.place];
    this.order.splice(to, 0, taken);
    this.showOrder(variant);
    var buttons = this.fields.querySelectorAll("li")[to].querySelectorAll("button");
    var wanted = to < from ? buttons[0] : buttons[1];
    (wanted.disabled ? buttons[to < from ? 1 : 0] : wanted).focus();
    this.say("hint", "", plain(variant.options[taken]) + ": now " + (to + 1) + " of " + this.order.length);
  };

  /* Says something below the form; readers that speak say it too. */
  Exercise.prototype.say = function (sort, word, html) {
    this.told.className = "bl-told bl-told-" + sort;
    this.told.replaceChildren();
    if (word) {
      this.told.append(make("p", { class: "bl-told-word" }, word));
    }
    if (html) {
      var body = make("div", {});
      body.innerHTML = html;
      this.told.append(body);
    }
  };

  Exercise.prototype.sayPlain = function (sort, word, text) {
    this.say(sort, word, "");
    this.told.append(make("p", {}, text));
  };

  Exercise.prototype.mark = function () {
    var variant = this.variants[this.place];
    if (this.kind === "order") {
      var sorted = benchlore.twin.mark_order(this.order, variant.right);
      if (sorted[0] === "right") {
        this.finish(true, "Right", variant.work);
      } else {
        this.finish(false, "Not yet", "");
        this.told.append(make("p", {}, "Up to step " + sorted[1] + " it is right. Look again at what comes next."));
      }
      return;
    }
    if (this.kind === "choose" || this.kind === "fault" || this.kind === "plan") {
      var chosen = this.fields.querySelector("input:checked");
      if (!chosen) {
        this.sayPlain("unread", "", "Choose an answer first.");
        return;
      }
      var place = Number(chosen.value);
      var right = variant.right.indexOf(place) >= 0;
      this.finish(right, right ? "Right" : "Not that one", variant.notes[place] || (right ? variant.work : ""));
      return;
    }
    var item = Object.assign({ field: this.field }, variant.item);
    var marked = benchlore.twin.mark_number({ units: this.units }, item, this.input.value.trim());
    if (marked[0] === "unread") {
      this.sayPlain("unread", "", this.input.value.trim() ? marked[1] : "Write your answer first.");
      this.input.focus();
    } else if (marked[0] === "right") {
      this.finish(true, "Right", variant.work);
    } else if (marked[0] === "slip") {
      this.finish(false, "A usual slip", variant.slips[marked[1]]);
    } else {
      this.finish(false, "Not yet", "");
      this.told.append(
        make("p", {}, variant.hint ? "Work it again, or take the hint." : "Work it again, step by step.")
      );
    }
  };

  Exercise.prototype.finish = function (right, word, html) {
    this.say(right ? "right" : "wrong", word, html);
    note(this.lesson, this.name, right);
    this.changed();
  };

  /* ---- keeping, giving and taking progress ---- */

  function wireKeeping(practice, exercises, changed) {
    var place = practice.querySelector("[data-bl-keeping]");
    var told = make("p", { role: "status", "aria-live": "polite", class: "bl-quiet" });
    var file = make("input", { type: "file", accept: "application/json,.json", hidden: "" });
    var sure = false;
    var save = makeButton("Save progress as a file", function () {
      var text = JSON.stringify({ benchlore: "practice", progress: recall() }, null, 1);
      var link = make("a", { download: "practice.json" });
      link.href = URL.createObjectURL(new Blob([text], { type: "application/json" }));
      link.click();
      URL.revokeObjectURL(link.href);
      told.textContent = "Saved as practice.json.";
    });
    var load = makeButton("Load a file", function () {
      file.click();
    });
    var clear = makeButton("Clear progress", function () {
      if (!sure) {
        sure = true;
        clear.textContent = "Clear all of it: press again";
        told.textContent = "This clears what this browser keeps for all lessons.";
        return;
      }
      sure = false;
      clear.textContent = "Clear progress";
      remember({});
      changed();
      told.textContent = "Cleared.";
    });
    file.addEventListener("change", function () {
      var reader = new FileReader();
      reader.onload = function () {
        try {
          var read = JSON.parse(String(reader.result));
          if (!isRecord(read) || read.benchlore !== "practice") {
            throw new Error("another file");
          }
          remember(sift(read.progress));
          changed();
          told.textContent = "Loaded.";
        } catch (error) {
          told.textContent = "This file holds no progress; nothing was changed.";
        }
        file.value = "";
      };
      reader.onerror = function () {
        told.textContent = "The file could not be read; nothing was changed.";
      };
      if (file.files.length) {
        reader.readAsText(file.files[0]);
      }
    });
    var row = make("div", { class: "bl-presses" });
    row.append(save, load, clear, file);
    place.append(
      make("p", { class: "bl-quiet" }, "Progress is kept in this browser only. Nobody else sees it."),
      row,
      told
    );
    place.hidden = false;
  }

  function wire(practice) {
    var lesson = practice.dataset.blPractice;
    var progress = practice.querySelector("[data-bl-progress]");
    var exercises = [];
    function changed() {
      var solved = exercises.filter(function (exercise) {
        return count(lesson, exercise.name).solved > 0;
      });
      exercises.forEach(function (exercise) {
        exercise.panel.classList.toggle("bl-solved", solved.indexOf(exercise) >= 0);
      });
      progress.textContent = "Solved: " + solved.length + " of " + exercises.length + ".";
      progress.hidden = false;
    }
    practice.querySelectorAll("[data-bl-exercise]").forEach(function (panel) {
      exercises.push(new Exercise(panel, lesson, changed));
    });
    changed();
    wireKeeping(practice, exercises, changed);
  }

  function start() {
    if (benchlore.twin && benchlore.twin.mark_number) {
      document.querySelectorAll("[data-bl-practice]").forEach(wire);
    }
  }

  if (document.readyState === "loading") {
    document.addEventListener("DOMContentLoaded", start);
  } else {
    start();
  }
})();
