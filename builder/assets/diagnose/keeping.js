/* Keeping a visit: as text, as a file, as a mail that the visitor sends or does not. */

function drawKeep() {
  const text = twin.write_visit(visit.told(), words["keep-was"]);
  const mail = "mailto:?subject=" + encodeURIComponent(words["keep-subject"]) + "&body=" + encodeURIComponent(text);
  const file = "data:text/yaml;charset=utf-8," + encodeURIComponent(text);
  return make("details", { class: "bl-keep" }, [
    make("summary", {}, [words.keep]),
    make("p", { class: "bl-quiet" }, [words["keep-text"]]),
    make("pre", { tabindex: "0", "aria-label": words.keep }, [text]),
    make("div", { class: "bl-buttons" }, [
      makeButton(words["keep-copy"], () => copy(text, words["keep-copied"])),
      make("a", { class: "bl-press", href: file, download: "visit.yml" }, [words["keep-file"]]),
      make("a", { class: "bl-press", href: mail }, [words["keep-mail"]]),
    ]),
  ]);
}

/**
 * @param {string} text
 * @param {string} done
 */
function copy(text, done) {
  const said = /** @type {HTMLElement} */ (panel.querySelector("[data-bl-said]"));
  /** @param {string} told */
  const tell = (told) => {
    said.textContent = told;
  };
  if (navigator.clipboard && navigator.clipboard.writeText) {
    navigator.clipboard.writeText(text).then(() => tell(done), () => tell(words["copy-by-hand"]));
  } else {
    tell(words["copy-by-hand"]);
  }
}

function copyLink() {
  copy(location.href, words.copied);
}
