// Calculators at work: answers as you type. Everything that is computed, read or written as text
// is written from Python and stands in benchlore.twin; this only carries between the page and it.

(function () {
  "use strict";
  var ANNOUNCE_AFTER_MS = 1000;
  var COMPLAIN_AFTER_MS = 700;
  var COMPLAIN_ON_LEAVING_MS = 300;

  function all(root, selector) {
    return Array.prototype.slice.call(root.querySelectorAll(selector));
  }

  function write(node, text) {
    if (node.textContent !== text) {
      node.textContent = text;
    }
  }

  function join(text, unit) {
    return benchlore.twin.join_typed(text, unit || "");
  }

  function decode(text) {
    try {
      return decodeURIComponent(text);
    } catch (error) {
      return text; // a link that was cut short; the field shows what came
    }
  }

  function wire(root, number) {
    var id = root.getAttribute("data-bl-calculator");
    var form = root.querySelector("form");
    var fields = all(form, "[data-bl-input]");
    var outputs = all(root, "[data-bl-output]");
    var warnings = all(root, "[data-bl-warning]");
    var refusal = root.querySelector("[data-bl-refusal]");
    var status = root.querySelector("[data-bl-announce]");
    var figure = root.querySelector("[data-bl-plot]");
    var link = root.querySelector("[data-bl-link]");
    var page = root.querySelector("[data-bl-page]");
    var follow = root.querySelector("[data-bl-follow]");
    var answers = root.querySelector("[data-bl-answers]");
    var some = fields.some(function (field) {
      return benchlore.calculators[id].description.inputs.some(function (input) {
        return input.shown >= 0;
      });
    });
    var plot = figure && JSON.parse(figure.querySelector("script").textContent);
    var announcing = 0;
    var complaining = 0;
    var complained = false;
    var settling = 0;
    var start = {};
    var raw = {};

    function nameOf(field) {
      return field.getAttribute("data-bl-input");
    }

    function labelOf(field) {
      return field.querySelector("label, legend").textContent.replace(/ \(optional\)$/, "");
    }

    // ---- what stands in the fields ----

    function controlIn(part) {
      return part.querySelector("input, select:not([data-bl-unit])");
    }

    function unitFor(part) {
      var own = part.querySelector("[data-bl-unit]");
      if (own || !part.hasAttribute("data-bl-column")) {
        return own;
      }
      var column = part.getAttribute("data-bl-column");
      return part.closest("[data-bl-input]").querySelector("[data-bl-unit-of='" + column + "'] select");
    }

    // As a reader would write it, for messages quote it.
    function readPart(part) {
      var unit = unitFor(part);
      var chosen = unit && unit.value ? unit.selectedOptions[0].textContent : "";
      return join(controlIn(part).value, chosen);
    }

    function readField(field) {
      if (!field.matches(".bl-rows")) {
        return readPart(field);
      }
      return all(field, ".bl-row").map(function (row) {
        var cells = {};
        all(row, "[data-bl-column]").forEach(function (cell) {
          cells[cell.getAttribute("data-bl-column")] = readPart(cell);
        });
        return cells;
      });
    }

    function readAll() {
      var read = {};
      fields.forEach(function (field) {
        read[nameOf(field)] = readField(field);
      });
      return read;
    }

    function isFilled(cells) {
      return Object.keys(cells).some(function (column) {
        return cells[column] !== "";
      });
    }

    // One text a field, as it may be typed on the command line.
    function writeTyped(value) {
      if (typeof value === "string") {
        return value;
      }
      return value.filter(isFilled).map(function (cells) {
        var texts = Object.keys(cells).map(function (column) {
          return cells[column].replace(/[:;]/g, " ");
        });
        return texts.join(":").replace(/:+$/, "") + ";";
      }).join("");
    }

    function writeHash(wanted) {
      return fields.filter(wanted).map(function (field) {
        var text = encodeURIComponent(writeTyped(raw[nameOf(field)]));
        return nameOf(field) + "=" + text.replace(/%3A/g, ":").replace(/%3B/g, ";").replace(/%2C/g, ",");
      }).join("&");
    }

    // ---- filling in ----

    function listUnits(unit, part) {
      if (unit) {
        return all(unit, "option").map(function (option) {
          return option.value;
        });
      }
      var fixed = part.matches("[data-bl-fixed]") ? part : part.querySelector("[data-bl-fixed]");
      return fixed ? [fixed.getAttribute("data-bl-fixed")] : [];
    }

    function setChoice(control, typed) {
      var wanted = typed.trim().toLowerCase();
      control.value = "";
      all(control, "option").forEach(function (option) {
        if (option.value === wanted || option.textContent.toLowerCase() === wanted) {
          control.value = option.value;
        }
      });
    }

    function setPart(part, typed) {
      var control = controlIn(part);
      var unit = unitFor(part);
      if (control.matches("select")) {
        setChoice(control, typed);
        return;
      }
      var parted = benchlore.partTyped(id, typed, listUnits(unit, part));
      var shared = unit && !part.contains(unit);
      if (shared && parted[1] && parted[1] !== unit.value) {
        parted[0] = typed;
      } else if (unit && !shared && (parted[1] || !benchlore.twin.is_bare(typed))) {
        unit.value = parted[1] || unit.value;
      } else if (unit && !shared) {
        unit.value = "";
      }
      control.value = parted[0];
      control.blOwn = true;
    }

    function setField(field, typed) {
      if (!field.matches(".bl-rows")) {
        setPart(field, typed);
        return;
      }
      var rows = benchlore.partRows(id, nameOf(field), typed);
      var list = field.querySelector("[data-bl-rows]");
      list.textContent = "";
      rows.forEach(function (cells) {
        var row = addRow(field);
        all(row, "[data-bl-column]").forEach(function (cell, index) {
          var unit = unitFor(cell);
          if (unit && !cell.contains(unit) && list.children.length === 1) {
            var first = benchlore.partTyped(id, cells[index] || "", listUnits(unit, cell))[1];
            unit.value = first || unit.value;
          }
          setPart(cell, cells[index] || "");
        });
      });
    }

    function fillFrom(hash) {
      restore();
      hash.replace(/^#/, "").split("&").forEach(function (pair) {
        var at = pair.indexOf("=");
        fields.forEach(function (field) {
          if (nameOf(field) === pair.slice(0, at)) {
            setField(field, decode(pair.slice(at + 1)));
          }
        });
      });
      rememberUnits();
      update();
    }

    function restore() {
      form.reset();
      fields.forEach(function (field) {
        if (field.matches(".bl-rows")) {
          field.querySelector("[data-bl-rows]").innerHTML = field.blStart;
          renumber(field);
        }
      });
      all(form, "input").forEach(function (input) {
        input.blOwn = true;
      });
      rememberUnits();
    }

    // ---- units: our own numbers are converted, what a reader typed stays ----

    function rememberUnits() {
      all(form, "[data-bl-unit]").forEach(function (unit) {
        unit.blWas = unit.value;
      });
    }

    function changeUnit(unit) {
      var column = unit.closest("[data-bl-unit-of]");
      var part = unit.closest("[data-bl-column]") || unit.closest("[data-bl-input]");
      var parts = column
        ? all(part, "[data-bl-column='" + column.getAttribute("data-bl-unit-of") + "']")
        : [part];
      parts.forEach(function (each) {
        var input = controlIn(each);
        if (input.blOwn && benchlore.twin.is_bare(input.value)) {
          input.value = benchlore.convertTyped(id, join(input.value, unit.blWas), unit.value) || input.value;
        }
      });
      unit.blWas = unit.value;
    }

    function followSystem(system) {
      all(form, "[data-bl-us]").forEach(function (unit) {
        var wanted = unit.getAttribute(system === "us" ? "data-bl-us" : "data-bl-metric");
        var part = unit.closest("[data-bl-input]");
        var typed = all(part, "input").some(function (input) {
          return !input.blOwn;
        });
        if (unit.value !== wanted && !typed) {
          unit.value = wanted;
          changeUnit(unit);
        }
      });
    }

    // ---- rows ----

    function renumber(field) {
      var rows = all(field, ".bl-row");
      rows.forEach(function (row, index) {
        var group = row.firstElementChild;
        group.setAttribute("aria-label", labelOf(field) + ", row " + (index + 1));
        group.querySelector("[data-bl-remove]").setAttribute("aria-label", "Remove row " + (index + 1));
      });
      field.querySelector("[data-bl-add]").hidden = rows.length >= Number(field.getAttribute("data-bl-most"));
    }

    function addRow(field, after) {
      var row = field.querySelector("template").content.firstElementChild.cloneNode(true);
      var list = field.querySelector("[data-bl-rows]");
      var last = after || list.lastElementChild;
      if (last) {
        all(row, "[data-bl-unit]").forEach(function (unit, index) {
          unit.value = all(last, "[data-bl-unit]")[index].value;
        });
      }
      list.insertBefore(row, after ? after.nextSibling : null);
      renumber(field);
      rememberUnits();
      return row;
    }

    function goToRow(row) {
      controlIn(row).focus();
    }

    function removeRow(field, row) {
      var next = row.nextElementSibling || row.previousElementSibling;
      row.remove();
      goToRow(next || addRow(field));
      renumber(field);
      say("Row removed.");
    }

    function pasteRows(field, row, text) {
      var column = row.querySelector("[data-bl-column]");
      var parts = text.split(/[\s;]+/).filter(Boolean);
      if (parts.length < 2 || all(row, "[data-bl-column]").length > 1) {
        return false;
      }
      parts.forEach(function (part, index) {
        if (index) {
          row = row.nextElementSibling || addRow(field);
          column = row.querySelector("[data-bl-column]");
        }
        controlIn(column).value = part;
      });
      goToRow(row);
      return true;
    }

    // ---- answers ----

    function complain(errors) {
      if (!errors.length && !complained) {
        return;
      }
      complained = errors.length > 0;
      fields.forEach(function (field) {
        var error = errors.filter(function (one) {
          return one.input === nameOf(field);
        })[0];
        var said = field.querySelector("[data-bl-said]");
        write(said, error ? error.message : "");
        said.hidden = !error;
        var row = error && / row (\d+)/.exec(error.message);
        var rows = all(field, ".bl-row").filter(function (each) {
          return all(each, "input, select:not([data-bl-unit])").some(function (control) {
            return control.value;
          });
        });
        all(field, "input, select:not([data-bl-unit])").forEach(function (control) {
          var wrong = error && (!row || !rows[row[1] - 1] || rows[row[1] - 1].contains(control));
          if (wrong) {
            control.setAttribute("aria-invalid", "true");
          } else {
            control.removeAttribute("aria-invalid");
          }
        });
      });
    }

    function point(errors) {
      refusal.textContent = errors.length ? "No answer yet. Look at: " : "";
      errors.forEach(function (error, index) {
        var field = fields.filter(function (one) {
          return nameOf(one) === error.input;
        })[0];
        if (!field) {
          refusal.textContent = error.message;
          return;
        }
        var to = document.createElement("button");
        to.type = "button";
        to.className = "bl-to-field";
        to.textContent = labelOf(field);
        to.addEventListener("click", function () {
          (field.querySelector("[aria-invalid]") || controlIn(field)).focus();
        });
        refusal.append(index ? ", " : "", to);
      });
      refusal.hidden = !errors.length;
    }

    function show(result) {
      var errors = result.errors || [];
      outputs.forEach(function (output) {
        var answer = errors.length ? {text: "–", us: ""} : result.outputs[output.getAttribute("data-bl-output")];
        output.hidden = errors.length ? output.hidden : !answer;
        if (answer) {
          var value = output.querySelector("[data-bl-value]");
          var us = output.querySelector("[data-bl-us]");
          write(value, answer.text);
          write(us, answer.us);
          value.classList.toggle("bl-metric", answer.us !== "");
          us.hidden = answer.us === "";
        }
      });
      warnings.forEach(function (item) {
        var warning = (result.warnings || []).filter(function (one) {
          return one.id === item.getAttribute("data-bl-warning");
        })[0];
        item.hidden = !warning;
        if (warning) {
          write(item.lastElementChild, warning.message);
        }
      });
      root.classList.toggle("bl-refused", errors.length > 0);
      write(follow.querySelector("[data-bl-sum]"), sumUp());
      signal();
      point(errors);
      // Someone who is still typing is not told off for half a number.
      window.clearTimeout(complaining);
      var here = errors.some(function (error) {
        return fields.some(function (field) {
          return nameOf(field) === error.input && field.contains(document.activeElement);
        });
      });
      if (here && !complained) {
        complaining = window.setTimeout(complain, COMPLAIN_AFTER_MS, errors);
      } else {
        complain(errors);
      }
    }

    // The gravest warning that holds stands on the answer too: a number alone looks safe.
    function signal() {
      var gravest = warnings.filter(function (item) {
        return !item.hidden && item.getAttribute("data-bl-level") !== "note";
      })[0];
      var level = gravest ? gravest.getAttribute("data-bl-level") : "";
      [follow, answers].forEach(function (place) {
        ["danger", "warning"].forEach(function (each) {
          place.classList.toggle("bl-caution-" + each, each === level);
        });
        var word = place.querySelector("[data-bl-signal]");
        write(word, gravest ? gravest.querySelector(".bl-signal").textContent : "");
        word.hidden = !gravest;
      });
    }

    // What may wait for the next frame: the link and the plot.
    function settle() {
      settling = 0;
      if (link) {
        link.href = "#" + writeHash(function (field) {
          return !field.hidden && writeTyped(raw[nameOf(field)]) !== start[nameOf(field)];
        });
      }
      if (page) {
        page.href = page.href.split("#")[0] + "#" + writeHash(function (field) {
          return !field.hidden;
        });
      }
      if (plot) {
        draw();
      }
    }

    function draw() {
      var points = benchlore.samplePlot(id, raw);
      figure.classList.toggle("bl-plot-none", points === null);
      ["wide", "narrow"].forEach(function (size) {
        var name = id + "-" + number + "-" + size;
        figure.querySelector(".bl-plot-" + size).innerHTML =
          benchlore.twin.draw_plot(plot.shape, points, plot[size][0], plot[size][1], name);
      });
    }

    // The large answers in a line.
    function sumUp() {
      return all(root, ".bl-answers-large [data-bl-output]:not([hidden])").map(function (output) {
        var us = output.querySelector("[data-bl-us]").textContent;
        var value = output.querySelector("[data-bl-value]").textContent;
        return output.querySelector("dt").textContent + ": " + value + (us ? " (" + us + ")" : "");
      }).join("; ");
    }

    function watchAnswers() {
      new IntersectionObserver(function (seen) {
        follow.hidden = seen[seen.length - 1].isIntersecting;
      }, {rootMargin: "0px 0px -80px 0px"}).observe(answers);
      follow.addEventListener("click", function () {
        answers.scrollIntoView({block: "center"});
      });
    }

    function say(text) {
      window.clearTimeout(announcing);
      status.textContent = text;
    }

    function announce(result) {
      window.clearTimeout(announcing);
      announcing = window.setTimeout(function () {
        var texts = (result.errors || []).map(function (error) {
          return error.message;
        });
        if (!texts.length) {
          texts.push(sumUp() + ".");
          warnings.forEach(function (item) {
            if (!item.hidden) {
              texts.push(item.textContent);
            }
          });
        }
        status.textContent = texts.join(" ");
      }, ANNOUNCE_AFTER_MS);
    }

    function update() {
      raw = readAll();
      if (some) {
        var shown = benchlore.listShown(id, raw);
        fields.forEach(function (field) {
          field.hidden = shown.indexOf(nameOf(field)) < 0;
        });
      }
      var result = benchlore.calculate(id, raw);
      show(result);
      if (!settling) {
        settling = window.requestAnimationFrame(settle);
      }
      return result;
    }

    function updateAndAnnounce() {
      announce(update());
    }

    // ---- wiring ----

    fields.forEach(function (field) {
      if (field.matches(".bl-rows")) {
        field.blStart = field.querySelector("[data-bl-rows]").innerHTML;
      }
    });
    form.addEventListener("submit", function (event) {
      event.preventDefault();
    });
    form.addEventListener("input", function (event) {
      if (!event.target.matches("[data-bl-unit]")) {
        event.target.blOwn = false;
        updateAndAnnounce();
      }
    });
    form.addEventListener("change", function (event) {
      if (event.target.matches("[data-bl-unit]")) {
        changeUnit(event.target);
        updateAndAnnounce();
      }
    });
    form.addEventListener("focusout", function () {
      if (root.matches(".bl-refused")) {
        // Not at once: a message that comes up would move what is being pressed.
        window.clearTimeout(complaining);
        complaining = window.setTimeout(function () {
          complain(benchlore.calculate(id, raw).errors || []);
        }, COMPLAIN_ON_LEAVING_MS);
      }
    });
    form.addEventListener("keydown", function (event) {
      var row = event.target.closest(".bl-row");
      if (event.key !== "Enter" || !row || !event.target.matches("input")) {
        return;
      }
      event.preventDefault();
      var field = row.closest("[data-bl-input]");
      if (row.nextElementSibling) {
        goToRow(row.nextElementSibling);
      } else if (!field.querySelector("[data-bl-add]").hidden) {
        goToRow(addRow(field));
        say("Row " + all(field, ".bl-row").length + " added.");
      }
    });
    form.addEventListener("paste", function (event) {
      var row = event.target.closest(".bl-row");
      var text = event.clipboardData ? event.clipboardData.getData("text") : "";
      if (row && pasteRows(row.closest("[data-bl-input]"), row, text)) {
        event.preventDefault();
        updateAndAnnounce();
      }
    });
    form.addEventListener("click", function (event) {
      var button = event.target.closest("button, a");
      if (!button) {
        return;
      }
      var field = button.closest("[data-bl-input]");
      if (button.hasAttribute("data-bl-add")) {
        goToRow(addRow(field));
        updateAndAnnounce();
        say("Row " + all(field, ".bl-row").length + " added.");
      } else if (button.hasAttribute("data-bl-remove")) {
        removeRow(field, button.closest(".bl-row"));
        update();
      } else if (button.hasAttribute("data-bl-reset")) {
        restore();
        followSystem(readSystem());
        update();
        leaveHash();
        say("All fields are as at first.");
      } else if (button.hasAttribute("data-bl-print")) {
        window.print();
      } else if (button.hasAttribute("data-bl-link")) {
        copyLink();
      }
    });

    function leaveHash() {
      if (link && location.hash.indexOf("=") > 0) {
        replaceHash(" ");
      }
    }

    function replaceHash(hash) {
      try {
        history.replaceState(null, "", hash.trim() ? hash : location.href.split("#")[0]);
      } catch (error) {
        // a page in a frame may not be allowed to; the values stand all the same
      }
    }

    function copyLink() {
      var words = link.textContent;
      function done(text) {
        link.textContent = text;
        say(text + ".");
        window.setTimeout(function () {
          link.textContent = words;
        }, 3000);
      }
      if (!navigator.clipboard) {
        done("The address holds them now");
        return;
      }
      navigator.clipboard.writeText(link.href).then(
        function () {
          done("Link copied");
        },
        function () {
          done("The address holds them now");
        }
      );
    }

    document.addEventListener("change", function (event) {
      if (event.target.closest("[data-bl-unit-switch]")) {
        followSystem(event.target.value);
        update();
      }
    });
    if (link) {
      window.addEventListener("hashchange", function () {
        if (location.hash.indexOf("=") > 0 && location.hash !== link.hash) {
          fillFrom(location.hash);
        }
      });
      document.addEventListener("click", function (event) {
        var to = event.target.closest("[data-bl-fill]");
        if (to) {
          var values = to.getAttribute("data-bl-fill");
          replaceHash("#" + values);
          fillFrom(values);
          root.tabIndex = -1;
          root.focus();
          root.scrollIntoView();
        }
      });
    }
    watchAnswers();
    restore();
    raw = readAll();
    fields.forEach(function (field) {
      start[nameOf(field)] = writeTyped(raw[nameOf(field)]);
    });
    if (link && location.hash.indexOf("=") > 0) {
      fillFrom(location.hash);
    } else {
      followSystem(readSystem());
      update();
    }
  }

  function readSystem() {
    return document.documentElement.getAttribute("data-bl-units");
  }

  // The scripts of the calculators themselves come after this one.
  document.addEventListener("DOMContentLoaded", function () {
    all(document, "[data-bl-calculator]").forEach(wire);
  });
})();
