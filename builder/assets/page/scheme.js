/* Light and dark: what the system asks for, until the reader switches. The very first script of the
   page (`first.js`) has already put in force what was chosen before. */

for (const button of all(document, "[data-bl-scheme]")) {
  const showWords = () => {
    const key = benchlore.isDark() ? "frame.to-light" : "frame.to-dark";
    button.setAttribute("aria-label", benchlore.words(key));
    button.title = benchlore.words(key);
    button.classList.toggle("bl-is-dark", benchlore.isDark());
  };
  button.addEventListener("click", () => {
    const scheme = benchlore.isDark() ? "light" : "dark";
    benchlore.remember(benchlore.SCHEME_KEY, scheme);
    benchlore.setScheme(scheme);
    showWords();
  });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", showWords);
  button.hidden = false;
  showWords();
}
