/* Marks in the contents list the part of the page that is being read. */

/** @param {HTMLElement} list */
function followReading(list) {
  const links = /** @type {HTMLAnchorElement[]} */ (all(list, "a"));
  const heads = links.map((link) => document.getElementById(decodeURIComponent(link.hash.slice(1))));

  function mark() {
    const line = window.innerHeight / 3;
    let here = -1;
    heads.forEach((head, index) => {
      if (head && head.getBoundingClientRect().top < line) {
        here = index;
      }
    });
    links.forEach((link, index) => {
      if (index === here) {
        link.setAttribute("aria-current", "true");
      } else {
        link.removeAttribute("aria-current");
      }
    });
  }

  let waiting = 0;
  document.addEventListener("scroll", () => {
    if (!waiting) {
      waiting = window.requestAnimationFrame(() => {
        waiting = 0;
        mark();
      });
    }
  }, { passive: true });
  mark();
}

all(document, ".bl-aside .bl-contents").forEach(followReading);
