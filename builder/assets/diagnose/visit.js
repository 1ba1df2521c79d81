/* What a visitor has told, in the order it was told, and the address that holds it. */

/**
 * One thing told about a sign or a question.
 * @typedef {Object} Said
 * @property {string} id
 * @property {"present"|"absent"|"yes"|"no"|"skipped"} list
 * @property {boolean} picked whether it was chosen among the pictures
 */

/** Keys of the address for what was picked, seen, not seen, answered and skipped. */
/** @type {Object<string, Said["list"]>} */
const LISTS = { see: "present", has: "present", not: "absent", yes: "yes", no: "no", skip: "skipped" };

/**
 * Make a visit.
 * @param {any} data what the page carries
 */
function startVisit(data) {
  /** @type {Said[]} */
  let said = [];
  /** @type {Object<string, string>} context to option, "" where it was skipped */
  let context = {};
  const visit = {
    stage: "pick",
    fits: true,
    more: false,
    said: () => said,
    picked: () => said.filter((one) => one.picked),
    context: () => context,
    told: told,
    find: find,
    put: put,
    take: take,
    setContext: setContext,
    clear: clear,
    write: write,
    read: read,
  };

  /** All that was told, as the plan takes it. */
  function told() {
    /** @type {Object<string, string[]>} */
    const findings = { present: [], absent: [], yes: [], no: [], skipped: [] };
    said.forEach((one) => findings[one.list].push(one.id));
    const names = Object.keys(context);
    return {
      findings: findings,
      context: names.filter((name) => context[name]).map((name) => [name, context[name]]),
      passed: names.filter((name) => !context[name]),
      fits: visit.fits,
      more: visit.more,
    };
  }

  /** @param {string} id */
  function find(id) {
    return said.find((one) => one.id === id);
  }

  /**
   * Tell something, or change it where it stands.
   * @param {string} id
   * @param {Said["list"]} list
   * @param {boolean} picked
   */
  function put(id, list, picked) {
    const known = find(id);
    if (known) {
      known.list = list;
    } else {
      said.push({ id: id, list: list, picked: picked });
      said.sort((one, other) => Number(other.picked) - Number(one.picked));
    }
    visit.fits = true;
  }

  /** @param {string} id */
  function take(id) {
    said = said.filter((one) => one.id !== id);
  }

  /**
   * @param {string} name
   * @param {string|null} option null takes it back, "" skips it
   */
  function setContext(name, option) {
    if (option === null) {
      delete context[name];
    } else {
      context[name] = option;
    }
  }

  function clear() {
    said = [];
    context = {};
    visit.stage = "pick";
    visit.fits = true;
    visit.more = false;
  }

  /** @param {Said} one */
  function nameKey(one) {
    if (one.list === "present") {
      return one.picked ? "see" : "has";
    }
    return Object.keys(LISTS).find((key) => LISTS[key] === one.list) || "";
  }

  /**
   * Write the visit into the address. Each step is an address of its own, so that the browser's
   * own way back works too.
   * @param {boolean} moved
   */
  function write(moved) {
    const parts = Object.keys(context).map((name) => "about=" + name + ":" + context[name]);
    said.forEach((one) => parts.push(nameKey(one) + "=" + one.id));
    if (!visit.fits) {
      parts.push("none=1");
    }
    if (visit.more) {
      parts.push("more=1");
    }
    if (visit.stage !== "pick") {
      parts.push("step=" + visit.stage);
    }
    const hash = parts.length ? "#" + parts.join("&") : "";
    if (hash === location.hash || (!hash && location.hash.indexOf("=") < 0)) {
      return;
    }
    try {
      history[moved ? "pushState" : "replaceState"](null, "", location.href.split("#")[0] + hash);
    } catch {
      /* Some browsers keep a page in a folder from changing its address; nothing depends on it. */
    }
  }

  /** Read the visit from the address; what the course does not know is passed over. */
  function read() {
    clear();
    location.hash
      .replace(/^#/, "")
      .split("&")
      .forEach((part) => {
        const key = part.split("=")[0];
        const value = part.slice(key.length + 1);
        if (key === "step") {
          visit.stage = value === "plan" || value === "ask" ? value : "pick";
        } else if (key === "none") {
          visit.fits = false;
        } else if (key === "more") {
          visit.more = true;
        } else if (key === "about") {
          readContext(value.split(":")[0], value.split(":")[1]);
        } else if (Object.hasOwn(LISTS, key)) {
          readSaid(key, value);
        }
      });
    if (!said.some((one) => one.picked) && visit.fits) {
      said = [];
      visit.stage = "pick";
      visit.more = false;
    }
  }

  /**
   * @param {string} name
   * @param {string|undefined} option
   */
  function readContext(name, option) {
    const known = data.contexts.find((each) => each.id === name);
    if (known && (option === "" || known.options.some((each) => each.id === option))) {
      context[name] = option || "";
    }
  }

  /**
   * @param {string} key
   * @param {string} value
   */
  function readSaid(key, value) {
    const sign = Object.hasOwn(data.symptoms, value);
    const asked = Object.hasOwn(data.questions, value);
    const seen = LISTS[key] === "present" || key === "not";
    if (!find(value) && (seen ? sign : key === "skip" ? sign || asked : asked)) {
      said.push({ id: value, list: LISTS[key], picked: key === "see" });
    }
  }

  return visit;
}
