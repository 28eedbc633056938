// Elements, and how what is shown is brought up to date without replacing what is touched.

/**
 * What an element was made with, beside its attributes.
 * @typedef {object} Facts
 * @property {Object<string, (event: any) => any>} listeners by kind of event
 * @property {string} [value] as told, which a user may have typed over
 * @property {boolean} [checked]
 * @property {{ element?: any }} [ref] told which element stands on the page
 * @property {string} [own] it draws itself, and stays as long as this is the same
 * @property {boolean} [isAtWork] the answer to a click is on the way
 */

/** @type {WeakMap<Node, Facts>} */
const factsOf = new WeakMap();

// Left as the user has it, or as scripts set it.
const LEFT = ["open", "aria-busy", "style"];

/**
 * An element. Names that start with "on" are listeners; text is always text.
 * @param {string} tag
 * @param {Object<string, any>} [properties]
 * @param {...any} children
 * @returns {any}
 */
export function h(tag, properties = {}, ...children) {
  const element = /** @type {any} */ (document.createElement(tag));
  /** @type {Facts} */
  const facts = { listeners: {} };
  factsOf.set(element, facts);
  for (const [name, value] of Object.entries(properties)) {
    if (name === "checked") facts.checked = Boolean(value);
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) listen(element, facts, name.slice(2), value);
    else if (name === "value") facts.value = String(value);
    else if (name === "own") facts.own = value;
    else if (name === "ref") { facts.ref = value; value.element = element; } else element.setAttribute(name, value === true ? "" : value);
  }
  if (tag === "button" && !("type" in properties)) element.type = "button";
  element.append(...nodesOf(children));
  // Last: a choice among options needs the options first.
  if (facts.value !== undefined) element.value = facts.value;
  return element;
}

/** @param {any[]} children */
function nodesOf(children) {
  return children.flat(3).filter((child) => child !== null && child !== undefined && child !== "" && child !== false);
}

/** @param {Element} element @param {Facts} facts @param {string} kind @param {(event: any) => any} work */
function listen(element, facts, kind, work) {
  if (!(kind in facts.listeners)) element.addEventListener(kind, relay);
  facts.listeners[kind] = work;
}

// A click while the answer to the one before is on the way is the same click.
/** @param {any} event */
async function relay(event) {
  const element = event.currentTarget, facts = /** @type {Facts} */ (factsOf.get(element));
  const isOnce = event.type === "click" || event.type === "submit";
  if (isOnce && facts.isAtWork) { event.preventDefault(); return; }
  const answer = facts.listeners[event.type]?.call(element, event);
  if (!isOnce || !(answer instanceof Promise)) return;
  facts.isAtWork = true;
  element.setAttribute("aria-busy", "true");
  try { await answer; } finally {
    facts.isAtWork = false;
    element.removeAttribute("aria-busy");
  }
}

/** @param {Element} element @param {...any} children */
export function show(element, ...children) { element.replaceChildren(...nodesOf(children)); }

/**
 * Bring the children of a place up to date: what is there already stays, with what was typed
 * into it, its focus, its folds and its pictures.
 * @param {Element} place
 * @param {...any} children
 */
export function patch(place, ...children) {
  const wanted = nodesOf(children).map((child) => (child instanceof Node ? child : document.createTextNode(String(child))));
  const keys = new Set(wanted.map(keyOf).filter(Boolean));
  for (const child of [...place.children]) if (keyOf(child) && !keys.has(keyOf(child))) child.remove();
  let at = place.firstChild;
  for (const node of wanted) {
    let twin = at;
    while (twin && !isAlike(twin, node)) twin = twin.nextSibling;
    if (!twin) { place.insertBefore(node, at); continue; }
    while (at !== twin && at && !keyOf(at)) {
      const gone = at;
      at = at.nextSibling;
      gone.remove();
    }
    if (twin === at) at = at.nextSibling; else place.insertBefore(twin, at);
    patchNode(twin, node);
  }
  while (at) {
    const gone = at;
    at = at.nextSibling;
    gone.remove();
  }
}

/** @param {Node} node */
function keyOf(node) { return node instanceof Element ? node.id || node.getAttribute("data-key") || "" : ""; }

/** @param {any} one @param {any} other */
function isAlike(one, other) {
  return one.nodeName === other.nodeName && keyOf(one) === keyOf(other) && one.type === other.type
    && (!one.classList || one.classList[0] === other.classList[0]);
}

/** @param {any} old @param {any} wanted */
function patchNode(old, wanted) {
  if (old.nodeType !== Node.ELEMENT_NODE) {
    if (old.data !== wanted.data) old.data = wanted.data;
    return;
  }
  const facts = factsOf.get(old), told = factsOf.get(wanted);
  if (!facts || !told || facts.own !== told.own) {
    if (old.open) wanted.open = true;
    old.replaceWith(wanted);
    return;
  }
  if (told.ref) { told.ref.element = old; facts.ref = told.ref; }
  // What draws itself works with what it was made with: a list that is being filled in, say.
  if (told.own !== undefined) return;
  for (const [kind, work] of Object.entries(told.listeners)) listen(old, facts, kind, work);
  for (const kind of Object.keys(facts.listeners)) if (!(kind in told.listeners)) delete facts.listeners[kind];
  patchAttributes(old, wanted);
  patch(old, ...wanted.childNodes);
  if (told.checked !== undefined) { old.checked = told.checked; facts.checked = told.checked; }
  if (told.value === undefined) return;
  // What was typed and refused stays, with the reason under it.
  const isRefused = wanted.hasAttribute("aria-invalid"), isTyped = old.value !== facts.value;
  const isStill = told.value === facts.value || old === document.activeElement;
  if (!isRefused && !(isTyped && isStill) && old.value !== told.value) old.value = told.value;
  facts.value = told.value;
}

/** @param {Element} old @param {Element} wanted */
function patchAttributes(old, wanted) {
  for (const { name } of [...old.attributes]) if (!wanted.hasAttribute(name) && !LEFT.includes(name)) old.removeAttribute(name);
  for (const { name, value } of [...wanted.attributes]) {
    if (!LEFT.includes(name) && old.getAttribute(name) !== value) old.setAttribute(name, value);
  }
}

/**
 * A table that may be wider than the screen: the keyboard can scroll it too.
 * @param {string} label
 * @param {...any} children
 */
export function scrolled(label, ...children) {
  return h("div", { class: "wide", role: "region", tabindex: 0, "aria-label": label }, ...children);
}

/**
 * A table with its heads; the first cell of a row is its head.
 * @param {string} label
 * @param {string[]} heads
 * @param {any[][]} rows
 */
export function table(label, heads, rows) {
  return scrolled(label, h("table", {},
    h("caption", { class: "unseen" }, label),
    heads.length ? h("thead", {}, h("tr", {}, heads.map((head) => (head ? h("th", { scope: "col" }, head) : h("td"))))) : null,
    h("tbody", {}, rows.map((row) => h("tr", {}, row.map((cell, at) => (at ? h("td", {}, cell) : h("th", { scope: "row" }, cell))))))));
}

/**
 * What is not needed every time; `own` where what is inside draws itself when it is opened.
 * @param {string} says
 * @param {any[] | (() => any[])} inside
 * @param {{ isOpen?: boolean, own?: string, key?: string }} [how] `key` where what it says changes
 */
export function fold(says, inside, { isOpen = false, own = undefined, key = says } = {}) {
  const fill = (/** @type {any} */ event) => {
    // Not the one made here: another may stand on the page for it.
    const { open, lastElementChild: place } = event.currentTarget;
    if (open && typeof inside === "function" && !place.childNodes.length) show(place, ...inside());
  };
  return h("details", { open: isOpen, own, "data-key": key, ontoggle: fill }, h("summary", {}, says),
    h("div", { class: "controls plain" }, typeof inside === "function" ? [] : inside));
}

/**
 * A place for a drawing from the server; it is replaced only by another one.
 * @param {string} markup
 */
export function picture(markup) { return markup ? h("figure", { class: "drawing", own: markup }) : null; }

/**
 * Draw what has a place on the page: most drawings stand there already.
 * @param {Element} place
 */
export function drawPictures(place) {
  for (const figure of place.querySelectorAll("figure.drawing:empty")) {
    const parsed = new DOMParser().parseFromString(factsOf.get(figure)?.own || "", "text/html");
    figure.append(...(parsed.querySelector("figure")?.childNodes || []));
  }
}
