// The page object of engines.mjs: elements by their words, as a person finds them. It has the names of the driver that the other
// journeys use, as far as they are needed, so that the words of app.mjs and lib.mjs serve for every engine.

import { PATIENCE_MS } from "./lib.mjs";

/** Between two looks (common practice, no source). */
const LOOK_MS = 40;
/** A text longer than this comes as if pasted, not key by key (common practice, no source). */
const TYPED = 60;

/** Until a key has arrived in its field, on a busy machine too (common practice, no source). */
const TYPED_MS = 5000;

const pause = (ms) => new Promise((done) => setTimeout(done, ms));

/** Runs in the page and needs nothing from outside: all elements that the steps lead to, in the order of the document. */
function reach(steps) {
  const tidy = (text) => (text ?? "").replace(/\s+/g, " ").trim();
  const fits = (text, wanted, exact) => {
    if (wanted?.source !== undefined) return new RegExp(wanted.source, wanted.flags).test(tidy(text));
    return exact ? tidy(text) === tidy(wanted) : tidy(text).toLowerCase().includes(tidy(wanted).toLowerCase());
  };
  const ROLES = {
    button: "button, [role=button], input[type=button], input[type=submit]",
    link: "a[href]",
    group: "fieldset, [role=group]",
    heading: "h1, h2, h3, h4",
    checkbox: "input[type=checkbox]",
    radio: "input[type=radio]",
    status: "[role=status]",
    alert: "[role=alert]",
  };
  const shown = (element) => element.checkVisibility({ visibilityProperty: true });
  const words = (element) => {
    const copy = element.cloneNode(true);
    for (const hidden of copy.querySelectorAll("[aria-hidden=true]")) hidden.remove();
    return copy.textContent;
  };
  const name = (element) => {
    const label = element.getAttribute("aria-label");
    if (label) return label;
    const by = element.getAttribute("aria-labelledby");
    if (by) return by.split(/\s+/).map((id) => document.getElementById(id)?.textContent).join(" ");
    if (element.labels?.length > 0) return [...element.labels].map(words).join(" ");
    if (element.tagName === "FIELDSET") return element.querySelector("legend")?.textContent;
    return words(element);
  };
  const inside = (roots, css) => {
    const found = new Set(roots.flatMap((root) => [...root.querySelectorAll(css)]));
    return inOrder([...found]);
  };
  const inOrder = (all) => all.sort((one, other) => (one.compareDocumentPosition(other) & Node.DOCUMENT_POSITION_FOLLOWING ? -1 : 1));
  const smallest = (roots, wanted, exact) => {
    const all = inside(roots, "*").filter((element) => !/^(SCRIPT|STYLE|HEAD|TITLE)$/.test(element.tagName) && fits(element.textContent, wanted, exact));
    return all.filter((element) => ![...element.children].some((child) => all.includes(child)));
  };
  const step = (roots, { css, role, label, text, name: wanted, exact, hasText, nth, or }) => {
    if (css !== undefined) return inside(roots, css).filter((element) => hasText === undefined || fits(element.textContent, hasText));
    if (role) return inside(roots, ROLES[role]).filter((element) => shown(element) && (wanted === undefined || fits(name(element), wanted, exact)));
    if (label !== undefined) return inside(roots, "input, textarea, select").filter((element) => fits(name(element), label, exact));
    if (text !== undefined) return smallest(roots, text, exact);
    if (hasText !== undefined) return roots.filter((element) => fits(element.textContent, hasText));
    if (or) return inOrder([...new Set(or.flatMap((way) => way.reduce(step, [document])))]);
    return roots.slice(nth, nth === -1 ? undefined : nth + 1);
  };
  return steps.reduce(step, [document]);
}

/** Runs in the page: the one element, in view, at rest and not covered, or null while it is not so. A box or a round mark is touched at its row. */
async function aim(found, force) {
  if (found.length !== 1) return null;
  const element = /^(radio|checkbox)$/.test(found[0].type) ? (found[0].closest("label") ?? found[0]) : found[0];
  const place = () => element.getClientRects()[0];
  if (!element.checkVisibility({ visibilityProperty: true }) || !place() || found[0].disabled) return null;
  const middle = () => {
    const { left, top, width, height } = place();
    return [left + width / 2, top + height / 2];
  };
  const free = () => {
    const there = document.elementFromPoint(...middle());
    return there !== null && (element.contains(there) || there.contains(element));
  };
  if (!free()) element.scrollIntoView({ block: "center", behavior: "instant" });
  const before = JSON.stringify(place());
  await new Promise((done) => setTimeout(done, 20));
  return place() && JSON.stringify(place()) === before && (force || free()) ? element : null;
}

const wire = (text) => (text instanceof RegExp ? { source: text.source, flags: text.flags } : text);

/** Elements that a chain of steps leads to, looked for anew each time. */
class Locator {
  #page;
  #steps;

  constructor(page, steps) {
    this.#page = page;
    this.#steps = steps;
  }

  get steps() {
    return this.#steps;
  }

  #and(step) {
    return new Locator(this.#page, [...this.#steps, step]);
  }

  locator(css, { hasText } = {}) {
    return this.#and({ css, hasText: wire(hasText) });
  }

  getByRole(role, { name, exact = false } = {}) {
    return this.#and({ role, name: wire(name), exact });
  }

  getByLabel(label, { exact = false } = {}) {
    return this.#and({ label: wire(label), exact });
  }

  getByText(text, { exact = false } = {}) {
    return this.#and({ text: wire(text), exact });
  }

  filter({ hasText }) {
    return this.#and({ hasText: wire(hasText) });
  }

  or(other) {
    return new Locator(this.#page, [{ or: [this.#steps, other.steps] }]);
  }

  nth(nth) {
    return this.#and({ nth });
  }

  first() {
    return this.nth(0);
  }

  last() {
    return this.nth(-1);
  }

  toString() {
    return JSON.stringify(this.#steps);
  }

  /** What a function in the page makes of all the elements. */
  #of(what, ...args) {
    return this.#page.run(`(${what})((${reach})(${JSON.stringify(this.#steps)}), ...${JSON.stringify(args)})`);
  }

  /** What a function makes of the one element, as soon as there is exactly one. */
  async #one(what, ...args) {
    const wrapped = `(found, ...args) => found.length === 1 ? { value: (${what})(found[0], ...args) } : null`;
    return (await this.#page.wait(`one ${this}`, () => this.#of(wrapped, ...args))).value;
  }

  count() {
    return this.#of((found) => found.length);
  }

  allInnerTexts() {
    return this.#of((found) => found.map((element) => element.innerText));
  }

  innerText() {
    return this.#one((element) => element.innerText);
  }

  inputValue() {
    return this.#one((element) => element.value);
  }

  isChecked() {
    return this.#one((element) => element.checked);
  }

  getAttribute(name) {
    return this.#one((element, name) => element.getAttribute(name), name);
  }

  isVisible() {
    return this.#of((found) => found.some((element) => element.checkVisibility({ visibilityProperty: true })));
  }

  async waitFor({ state = "visible" } = {}) {
    const wanted = state === "detached" ? async () => (await this.count()) === 0 : () => this.isVisible();
    await this.#page.wait(`${state}: ${this}`, wanted);
  }

  /** A touch in the middle, as soon as the element is in view, at rest and not covered. */
  async click() {
    const source = `(${aim})((${reach})(${JSON.stringify(this.#steps)}))`;
    await this.#page.wait(`can be touched: ${this}`, async () => {
      const element = await this.#page.driver.element(source);
      if (!element) return false;
      await this.#page.driver.click(element);
      return true;
    });
  }

  /** Touches the field until it has the focus: a new screen gives it to its heading, a frame after it is drawn. */
  async #focus() {
    await this.#page.wait(`has the focus: ${this}`, async () => {
      await this.click();
      return this.#one((element) => document.activeElement === element);
    });
  }

  /** What is typed takes the place of what stands in the field. Once more only if the focus went elsewhere meanwhile. */
  async fill(text) {
    for (;;) {
      await this.#focus();
      await this.#one((element) => element.select());
      if (text === "") await this.#page.driver.press("Backspace");
      else if (text.length <= TYPED && !text.includes("\n")) await this.#page.driver.type(text);
      else await this.#one((element, text) => element.ownerDocument.execCommand("insertText", false, text), text);
      const typed = () => this.#page.wait(`“${text}” in ${this}`, async () => (await this.inputValue()) === text, TYPED_MS);
      if (await typed().catch(() => false)) return;
      const [value, focused] = await this.#one((element) => [element.value, document.activeElement === element]);
      if (focused) throw new Error(`typed “${text}” into ${this}, there stands “${value}”`);
    }
  }

  async pressSequentially(text) {
    await this.#focus();
    await this.#page.driver.type(text);
  }

  async press(key) {
    await this.#one((element) => element.focus());
    await this.#page.driver.press(key);
  }

  async check() {
    if (!(await this.isChecked())) await this.click();
    await this.#page.wait(`chosen: ${this}`, () => this.isChecked());
  }

  /** By its value. The list itself is the system's, which no driver reaches: the event is made here. */
  selectOption(value) {
    return this.#one((element, value) => {
      element.value = value;
      for (const kind of ["input", "change"]) element.dispatchEvent(new Event(kind, { bubbles: true }));
    }, value);
  }

  async setInputFiles(path) {
    const element = await this.#page.driver.element(`(${reach})(${JSON.stringify(this.#steps)})[0] ?? null`);
    if (!element) throw new Error(`no such field: ${this}`);
    await this.#page.driver.choose(element, path);
  }
}

/** A page in whichever engine. */
export class Page {
  driver;
  #url = "about:blank";

  constructor(driver) {
    this.driver = driver;
  }

  /** The value of an expression in the page; an element is true. The address is noted on the way. */
  async run(expression) {
    const { value, url } = await this.driver.evaluate(`(async () => {
      const value = await ${expression};
      return { value: value instanceof Node ? true : (value ?? null), url: location.href };
    })()`);
    this.#url = url;
    return value;
  }

  evaluate(what, ...args) {
    return this.run(`(${what})(...${JSON.stringify(args)})`);
  }

  /** Asks until the answer is true. The page may be on its way to another address meanwhile. */
  async wait(what, ask, patience = PATIENCE_MS) {
    const end = Date.now() + patience;
    let last = null;
    for (;;) {
      const answer = await ask().catch((error) => { last = error; return null; });
      if (answer) return answer;
      if (Date.now() > end) throw new Error(`waited in vain: ${what}`, last ? { cause: last } : undefined);
      await pause(LOOK_MS);
    }
  }

  waitForFunction(what, ...args) {
    return this.wait(String(what), () => this.evaluate(what, ...args));
  }

  waitForTimeout(ms) {
    return pause(ms);
  }

  /** The address when the page was last looked at. */
  url() {
    return this.#url;
  }

  async goto(url) {
    await this.driver.goto(url);
  }

  async reload() {
    await this.driver.reload();
  }

  async goBack() {
    await this.driver.back();
  }

  close() {
    return this.driver.close();
  }

  locator(css, options) {
    return new Locator(this, []).locator(css, options);
  }

  getByRole(role, options) {
    return new Locator(this, []).getByRole(role, options);
  }

  getByLabel(label, options) {
    return new Locator(this, []).getByLabel(label, options);
  }

  getByText(text, options) {
    return new Locator(this, []).getByText(text, options);
  }
}
