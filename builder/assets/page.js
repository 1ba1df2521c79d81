/* What every page does when scripts run: unit systems, and amounts for the number made.
   Wired by data attributes; every page reads well without it. */

(function () {
  "use strict";
  var benchlore = (window.benchlore = window.benchlore || {});
  var KEY = "benchlore-units";

  /* ---- memory: a page opened from a folder may not be allowed any ---- */

  function recall(key) {
    try {
      return window.localStorage.getItem(key);
    } catch (error) {
      return null;
    }
  }

  function remember(key, value) {
    try {
      window.localStorage.setItem(key, value);
    } catch (error) {
      /* the choice holds for this page only */
    }
  }

  /* ---- metric, US or both ---- */

  function showUnits(choice) {
    document.documentElement.setAttribute("data-bl-units", choice);
    document.querySelectorAll("[data-bl-unit-switch] input").forEach(function (input) {
      input.checked = input.value === choice;
    });
  }

  function readUnits() {
    var choice = recall(KEY);
    return choice === "metric" || choice === "us" ? choice : "both";
  }

  function wireUnits() {
    document.querySelectorAll("[data-bl-unit-switch]").forEach(function (field, index) {
      field.hidden = false;
      field.querySelectorAll("input").forEach(function (input) {
        input.name = "bl-units-" + index;
        input.addEventListener("change", function () {
          remember(KEY, input.value);
          showUnits(input.value);
        });
      });
    });
    showUnits(readUnits());
  }

  /* ---- amounts for the number made ---- */

  function writeAmount(place, count) {
    var figures = benchlore.twin;
    var mark = place.dataset;
    var base = Number(mark.blAmount) * count;
    var places = Number(mark.blPlaces);
    var us = mark.blUsUnit
      ? figures.format_quantity(base, mark.blUsUnit, "places", Number(mark.blUsPlaces))
      : figures.format_us(base, mark.blUnit, "places", Math.min(places, 1));
    var text = figures.format_quantity(base, mark.blUnit, "places", places);
    var metric = place.querySelector(".bl-metric");
    if (!metric) {
      place.querySelector(".bl-q").textContent = text; // too little to have a US side
      return;
    }
    metric.textContent = text;
    place.querySelector(".bl-us").childNodes[1].nodeValue = us;
  }

  function wireStepper(stepper) {
    var input = stepper.querySelector("input");
    var start = input.value;
    var places = document.querySelectorAll("[data-bl-amount]");
    var unscaled = document.querySelectorAll("[data-bl-unscaled]");
    var said = document.querySelector("[data-bl-count]");
    var announced = document.querySelector("[data-bl-count-said]");
    var note = document.querySelector("[data-bl-scaled]");
    if (!places.length || !benchlore.twin) {
      return;
    }

    function update() {
      var count = Math.round(Number(input.value));
      if (!(count >= Number(input.min) && count <= Number(input.max))) {
        return;
      }
      places.forEach(function (place) {
        writeAmount(place, count);
      });
      var words = count === 1 ? "data-bl-one" : "data-bl-many";
      said.textContent = count + " " + stepper.getAttribute(words);
      note.hidden = String(count) === start;
      unscaled.forEach(function (mark) {
        mark.hidden = String(count) === start;
      });
    }

    function updateAndAnnounce() {
      update();
      announced.textContent = stepper.getAttribute("data-bl-says") + " " + said.textContent + ".";
    }

    stepper.addEventListener("click", function (event) {
      var button = event.target.closest("[data-bl-step]");
      if (button) {
        var next = Math.round(Number(input.value) || 0) + Number(button.getAttribute("data-bl-step"));
        input.value = Math.min(Number(input.max), Math.max(Number(input.min), next));
        updateAndAnnounce();
      }
    });
    input.addEventListener("input", updateAndAnnounce);
    stepper.hidden = false;
    update();
  }

  /* ---- folded text is printed open ---- */

  var folded = [];
  window.addEventListener("beforeprint", function () {
    folded = Array.prototype.slice.call(document.querySelectorAll(".bl details:not([open])"));
    folded.forEach(function (part) {
      part.open = true;
    });
  });
  window.addEventListener("afterprint", function () {
    folded.forEach(function (part) {
      part.open = false;
    });
  });

  /* ---- where the host marks neither light nor dark, the keyboard must find the one that holds ---- */

  document.querySelectorAll(".md-header__option").forEach(function (option) {
    option.addEventListener("focusin", function () {
      var scheme = document.body.getAttribute("data-md-color-scheme");
      var holds = option.querySelector("input[data-md-color-scheme='" + scheme + "']");
      if (holds && !option.querySelector("input:checked")) {
        holds.checked = true;
        holds.focus();
      }
    });
  });

  /* ---- the host's search dialog has no name of its own ---- */

  document.querySelectorAll(".md-search[role='dialog']").forEach(function (dialog) {
    if (!dialog.hasAttribute("aria-label")) {
      dialog.setAttribute("aria-label", "Search");
    }
  });

  benchlore.recall = recall;
  benchlore.remember = remember;
  wireUnits();
  document.querySelectorAll("[data-bl-stepper]").forEach(wireStepper);
})();
