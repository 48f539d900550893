// What a person sees and touches on a screen, computed in the page: each function is handed to the browser whole, and returns
// one line for everything that is not as it should be.

/** How far the page scrolls sideways, px. */
export const sideways = () =>
  Math.max(...[document.documentElement, document.querySelector("main")].map((one) => one.scrollWidth - one.clientWidth));

/** Runs in a page: helpers that the functions below share, under window.seen. */
export function helpers() {
  const rgb = (text) => {
    const found = text.match(/^rgba?\(([\d.]+), ([\d.]+), ([\d.]+)(?:, ([\d.]+))?\)$/);
    if (!found) throw new Error(`a colour of another form: ${text}`);
    const [, red, green, blue, alpha = 1] = found.map(Number);
    return { red, green, blue, alpha: Number.isNaN(alpha) ? 1 : alpha };
  };
  const over = (top, under) => {
    const mix = (part) => top[part] * top.alpha + under[part] * (1 - top.alpha);
    return { red: mix("red"), green: mix("green"), blue: mix("blue"), alpha: 1 };
  };
  // WCAG 2.2, "relative luminance" and "contrast ratio".
  const luminance = ({ red, green, blue }) => {
    const part = (value) => (value / 255 <= 0.04045 ? value / 255 / 12.92 : ((value / 255 + 0.055) / 1.055) ** 2.4);
    return 0.2126 * part(red) + 0.7152 * part(green) + 0.0722 * part(blue);
  };
  const ratio = (one, other) => {
    const [low, high] = [luminance(one), luminance(other)].sort((a, b) => a - b);
    return (high + 0.05) / (low + 0.05);
  };
  const visible = (element) => {
    if (!element.checkVisibility({ checkOpacity: true, checkVisibilityCSS: true })) return false;
    const { width, height, right } = element.getBoundingClientRect();
    return width > 1 && height > 1 && right > 0 && !element.closest(".unseen");
  };
  /** The colours that may lie behind an element: one, or the stops of a gradient. */
  const grounds = (element) => {
    const layers = [];
    for (let at = element; at; at = at.parentElement) {
      const style = getComputedStyle(at);
      const stops = [...style.backgroundImage.matchAll(/rgba?\([^)]+\)/g)].map(([text]) => rgb(text)).filter(({ alpha }) => alpha === 1);
      const colour = rgb(style.backgroundColor);
      if (stops.length > 0) layers.push(stops);
      else if (colour.alpha > 0) layers.push([colour]);
      if (layers.length > 0 && layers.at(-1)[0].alpha === 1) break;
    }
    const white = { red: 255, green: 255, blue: 255, alpha: 1 };
    return layers.reduceRight((under, top) => top.flatMap((colour) => under.map((ground) => over(colour, ground))), [white]);
  };
  /** The colours behind a text of a drawing: the last shape that is painted before it and holds its middle. */
  const groundsInSvg = (text) => {
    const { left, top, width, height } = text.getBoundingClientRect();
    const [x, y] = [left + width / 2, top + height / 2];
    const svg = text.ownerSVGElement;
    let found = grounds(svg.parentElement);
    for (const shape of svg.querySelectorAll("rect, circle, path, text")) {
      if (shape === text) break;
      const fill = getComputedStyle(shape).fill;
      const box = shape.getBoundingClientRect();
      const holds = x >= box.left && x <= box.right && y >= box.top && y <= box.bottom;
      if (shape.tagName !== "text" && fill !== "none" && holds) {
        const colour = rgb(fill);
        colour.alpha *= Number(getComputedStyle(shape).fillOpacity) * Number(getComputedStyle(shape).opacity);
        found = found.map((ground) => over(colour, ground));
      }
    }
    return found;
  };
  const opacity = (element) => {
    let product = 1;
    for (let at = element; at; at = at.parentElement) product *= Number(getComputedStyle(at).opacity);
    return product;
  };
  const name = (element) => `${element.tagName.toLowerCase()}.${element.getAttribute("class") ?? ""} "${(element.innerText ?? element.textContent ?? "").trim().slice(0, 40)}"`;

  /** All that can be touched, each as { element, box }: where a label holds a box or a field's own button, the label. */
  const targets = () => {
    const chosen = "a[href], button, input:not([type=hidden]), select, textarea, summary, [role=button]";
    const found = new Map();
    for (const element of document.querySelectorAll(chosen)) {
      if (element.closest(".skip, #halt")) continue;
      // A box or a round mark is as large as its row; a field's label only leads to it.
      const label = /^(radio|checkbox|file)$/.test(element.type) ? element.closest("label, .file") : null;
      const target = label ?? element;
      if (visible(target) && !inSentence(target)) found.set(target, target.getBoundingClientRect());
    }
    return [...found].map(([element, box]) => ({ element, box }));
  };
  /** A link in a sentence is text (WCAG 2.2, 2.5.8, "Inline"). */
  const inSentence = (element) => {
    if (element.tagName !== "A" || getComputedStyle(element).display !== "inline") return false;
    return [...element.parentElement.childNodes].some((node) => node.nodeType === Node.TEXT_NODE && node.data.trim() !== "");
  };
  /** Does it stay where it is when the page scrolls? */
  const stays = (element) => {
    const page = element.closest("main");
    if (!page && getComputedStyle(document.querySelector("main")).overflowY !== "visible") return true;
    for (let at = element; at; at = at.parentElement) if (/sticky|fixed/.test(getComputedStyle(at).position)) return true;
    return false;
  };
  window.seen = { rgb, over, ratio, visible, grounds, groundsInSvg, opacity, name, targets, stays };
}

/** Texts with less contrast than asked for, by the colours that the browser computed. */
export function faint(least) {
  const { rgb, over, ratio, visible, grounds, groundsInSvg, opacity, name } = window.seen;
  const wrong = [];
  const hold = (element, colour, found) => {
    const ink = { ...rgb(colour) };
    ink.alpha *= opacity(element);
    const worst = Math.min(...found.map((ground) => ratio(over(ink, ground), ground)));
    if (worst < least) wrong.push(`${name(element)}: ${worst.toFixed(2)} : 1`);
  };
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const done = new Set();
  while (walker.nextNode()) {
    const element = walker.currentNode.parentElement;
    if (walker.currentNode.data.trim() === "" || done.has(element) || !visible(element)) continue;
    done.add(element);
    if (element.closest(".skip, option, script, style")) continue;
    if (element.ownerSVGElement) hold(element, getComputedStyle(element).fill, groundsInSvg(element));
    else hold(element, getComputedStyle(element).color, grounds(element));
  }
  for (const field of document.querySelectorAll("input, textarea, select")) {
    if (!visible(field) || /^(radio|checkbox|file)$/.test(field.type)) continue;
    hold(field, getComputedStyle(field).color, grounds(field));
    if (field.placeholder) hold(field, getComputedStyle(field, "::placeholder").color, grounds(field));
  }
  return { wrong, looked: done.size };
}

/** Targets that are lower than asked for, primary ones than theirs, or nearer to each other than the gap. */
export function hardToTouch({ least, primary, gap }) {
  const { name, targets, stays } = window.seen;
  const all = targets().map((target) => ({ ...target, stays: stays(target.element) }));
  const wrong = [];
  // Half a pixel: boxes are rounded to the screen's own.
  for (const { element, box } of all) {
    const asked = element.matches(".primary") ? primary : least;
    if (box.height < asked - 0.5) wrong.push(`${name(element)}: ${box.height.toFixed(1)} px high`);
    // WCAG 2.2, 2.5.5: 44 px.
    if (box.width < 44) wrong.push(`${name(element)}: ${box.width.toFixed(1)} px wide`);
  }
  for (const [index, one] of all.entries()) {
    for (const other of all.slice(index + 1)) {
      const inside = one.element.contains(other.element) || other.element.contains(one.element);
      // What stays lies over what scrolls, wherever that happens to be.
      if (inside || one.stays !== other.stays) continue;
      const across = Math.max(one.box.left - other.box.right, other.box.left - one.box.right);
      const down = Math.max(one.box.top - other.box.bottom, other.box.top - one.box.bottom);
      const apart = Math.max(across, down);
      if (apart < gap - 0.5) wrong.push(`${name(one.element)} and ${name(other.element)}: ${apart.toFixed(1)} px apart`);
    }
  }
  return { wrong, looked: all.length };
}

/** Text that lies outside of the window, of its frame, or of what it stands on. */
export function cutOff() {
  const { visible, name } = window.seen;
  const wrong = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  let looked = 0;
  const outside = (rect, box) => rect.left < box.left - 1 || rect.right > box.right + 1;
  while (walker.nextNode()) {
    const element = walker.currentNode.parentElement;
    if (walker.currentNode.data.trim() === "" || !visible(element) || element.closest(".skip, svg, textarea, option, .pairs-frame")) continue;
    const range = document.createRange();
    range.selectNodeContents(walker.currentNode);
    const rects = [...range.getClientRects()].filter((rect) => rect.width > 0);
    looked += 1;
    const window_ = { left: 0, right: innerWidth };
    const control = element.closest("button, .primary, .quiet, label.row, .segment, .badge, summary, .destinations a")?.getBoundingClientRect();
    let frame = null;
    for (let at = element; at !== document.body && !frame; at = at.parentElement) {
      const { overflowX, overflowY } = getComputedStyle(at);
      if (/hidden|clip/.test(overflowX) && !/auto|scroll/.test(overflowY)) frame = at.getBoundingClientRect();
    }
    for (const rect of rects) {
      if (outside(rect, window_)) wrong.push(`${name(element)}: beyond the window`);
      else if (control && outside(rect, control)) wrong.push(`${name(element)}: beyond what it stands on`);
      else if (frame && (outside(rect, frame) || rect.bottom > frame.bottom + 1)) wrong.push(`${name(element)}: beyond its frame`);
    }
  }
  return { wrong: [...new Set(wrong)], looked };
}

/** Everything that moves for longer than no time at all. */
export function moving() {
  const { name } = window.seen;
  const long = (text) => text.split(",").some((time) => Number.parseFloat(time) > 0);
  const wrong = [];
  for (const element of document.querySelectorAll("body *")) {
    for (const pseudo of [null, "::before", "::after"]) {
      const style = getComputedStyle(element, pseudo);
      if (long(style.transitionDuration) || (style.animationName !== "none" && long(style.animationDuration))) wrong.push(name(element));
    }
  }
  if (getComputedStyle(document.documentElement).scrollBehavior === "smooth") wrong.push("the page scrolls smoothly");
  return wrong;
}

/** With forced colours: fields, buttons, badges and marks of what is chosen whose edge cannot be seen, and drawings and texts that vanish. */
export function withoutEdge() {
  const { rgb, ratio, visible, grounds, groundsInSvg, name } = window.seen;
  const wrong = [];
  let looked = 0;
  // WCAG 2.2, 1.4.11: 3 : 1 for what is needed to know a control or to read a drawing.
  const seen = (colour, ground) => rgb(colour).alpha > 0 && ratio(rgb(colour), ground) >= 3;
  const edges = "main input[type=text], main input[type=search], main input:not([type]), main textarea, main select, main .primary, main .quiet, main .badge, main .urgency, main .choice .row, main .segment, .page-home .way";
  for (const element of document.querySelectorAll(edges)) {
    if (!visible(element)) continue;
    looked += 1;
    const style = getComputedStyle(element);
    const [ground] = grounds(element.parentElement);
    const sides = ["Top", "Right", "Bottom", "Left"];
    const has = sides.every((side) => Number.parseFloat(style[`border${side}Width`]) >= 1 && style[`border${side}Style`] !== "none" && seen(style[`border${side}Color`], ground));
    if (!has) wrong.push(`${name(element)}: no edge`);
  }
  for (const row of document.querySelectorAll("main .segment, main .choice .row")) {
    if (!visible(row) || !row.querySelector("input")?.checked) continue;
    const other = [...row.parentElement.children].find((one) => one.matches(".segment, .row") && one.querySelector("input")?.checked === false);
    const edge = (one) => `${getComputedStyle(one).borderTopStyle} ${getComputedStyle(one).borderTopWidth} ${getComputedStyle(one).borderTopColor}`;
    if (other && edge(other) === edge(row)) wrong.push(`${name(row)}: chosen, and looks like the others`);
  }
  // The browser lays the page's ground under each line of text, unless the element keeps its own colours.
  const probe = Object.assign(document.createElement("i"), { hidden: true });
  document.body.append(probe);
  probe.style.color = "Canvas";
  const canvas = rgb(getComputedStyle(probe).color);
  probe.remove();
  for (const element of document.querySelectorAll("body *")) {
    const said = [...element.childNodes].some((node) => node.nodeType === Node.TEXT_NODE && node.data.trim() !== "");
    if (!said || !visible(element) || element.closest("svg, .skip, option")) continue;
    looked += 1;
    const style = getComputedStyle(element);
    const [ground] = style.forcedColorAdjust === "auto" ? [canvas] : grounds(element);
    const contrast = ratio(rgb(style.color), ground);
    // WCAG 2.2, 1.4.3: the colours are the person's own.
    if (contrast < 4.5) wrong.push(`${name(element)}: ${contrast.toFixed(2)} : 1 with forced colours`);
  }
  for (const shape of document.querySelectorAll("main svg:not(.code) :is(path, polyline, rect, circle, line, text)")) {
    if (!visible(shape)) continue;
    looked += 1;
    const style = getComputedStyle(shape);
    const [ground] = shape.tagName === "text" ? groundsInSvg(shape) : grounds(shape.ownerSVGElement.parentElement);
    const shows = [style.fill, style.stroke].some((colour) => colour !== "none" && seen(colour, ground));
    // A shape of the ground's own colour covers what lies beneath it and tells nothing.
    const covers = [style.fill, style.stroke].every((colour) => colour === "none" || ratio(rgb(colour), ground) < 1.01);
    if (!shows && !(covers && shape.tagName !== "text")) wrong.push(`${name(shape)} in ${shape.ownerSVGElement.getAttribute("class")}: vanishes`);
  }
  return { wrong, looked };
}

/** Fields whose text is so small that the browser of an iPhone zooms in on them, and would not zoom out again. */
export function zooming(least) {
  const { visible, name } = window.seen;
  const fields = [...document.querySelectorAll("input, textarea, select")].filter((field) => visible(field) && !/^(radio|checkbox|file)$/.test(field.type));
  const wrong = fields.filter((field) => Number.parseFloat(getComputedStyle(field).fontSize) < least);
  return { wrong: wrong.map((field) => `${name(field)}: ${getComputedStyle(field).fontSize}`), looked: fields.length };
}

/** Fields and buttons that neither an edge nor a ground of their own tells from what they stand on, by so much contrast. */
export function faintEdges(least) {
  const { rgb, ratio, visible, grounds, name } = window.seen;
  const wrong = [];
  let looked = 0;
  const controls = "input:not([type=radio], [type=checkbox], [type=range], [type=file], [type=hidden]), textarea, select, .primary, .quiet, .way, .sign, .segment:has(input:checked)";
  for (const element of document.querySelectorAll(controls)) {
    if (!visible(element) || element.closest(".skip")) continue;
    looked += 1;
    const style = getComputedStyle(element);
    const edge = Number.parseFloat(style.borderTopWidth) >= 1 && style.borderTopStyle !== "none" ? [rgb(style.borderTopColor)] : [];
    const ground = rgb(style.backgroundColor);
    const colours = [...edge, ground].filter(({ alpha }) => alpha === 1);
    const best = Math.max(1, ...grounds(element.parentElement).flatMap((under) => colours.map((colour) => ratio(colour, under))));
    if (best < least) wrong.push(`${name(element)}: edge ${best.toFixed(2)} : 1`);
  }
  return { wrong, looked };
}

/** In the sun: strokes thinner than asked for, px on the screen, and edges of boxes. */
export function thin(least) {
  const { visible, name } = window.seen;
  const wrong = [];
  let looked = 0;
  for (const shape of document.querySelectorAll("svg:not(.code) :is(path, polyline, rect, circle, line)")) {
    const style = getComputedStyle(shape);
    if (!visible(shape) || style.stroke === "none") continue;
    looked += 1;
    const scale = style.vectorEffect === "non-scaling-stroke" ? 1 : shape.getScreenCTM().a;
    const width = Number.parseFloat(style.strokeWidth) * scale;
    if (width < least - 0.01) wrong.push(`${shape.getAttribute("class") ?? shape.tagName} in ${shape.ownerSVGElement.getAttribute("class")}: ${width.toFixed(2)} px`);
  }
  for (const element of document.querySelectorAll("body *")) {
    if (element.closest("svg") || !visible(element)) continue;
    const style = getComputedStyle(element);
    for (const side of ["Top", "Right", "Bottom", "Left"]) {
      const width = Number.parseFloat(style[`border${side}Width`]);
      if (style[`border${side}Style`] !== "none" && width > 0 && width < least) wrong.push(`${name(element)}: edge ${width} px`);
    }
  }
  return { wrong: [...new Set(wrong)], looked };
}

/** What has the focus: whether a ring shows it, and whether all of it can be seen. */
export function focused() {
  const { name } = window.seen;
  const element = document.activeElement;
  const shown = [element, element.closest("label"), element.closest(".file")].filter(Boolean);
  const ring = shown.some((one) => {
    const style = getComputedStyle(one);
    return style.outlineStyle !== "none" && Number.parseFloat(style.outlineWidth) >= 2;
  });
  const box = (element.closest("label.row, label.segment, .file") ?? element).getBoundingClientRect();
  const bars = [...document.querySelectorAll(".destinations, .foot")].filter((bar) => !bar.contains(element) && /sticky|fixed/.test(getComputedStyle(bar).position));
  const hidden = bars.some((bar) => {
    const over = bar.getBoundingClientRect();
    return box.bottom > over.top + 1 && box.top < over.bottom - 1;
  });
  // What scrolls shows no more than its part of the window.
  const room = element.closest("main")?.getBoundingClientRect() ?? { top: 0, bottom: innerHeight };
  const out = box.bottom > Math.min(room.bottom, innerHeight) + 1 || box.top < Math.max(room.top, 0) - 1;
  return { tag: element.tagName, text: (element.innerText || element.labels?.[0]?.innerText || "").trim(), name: name(element), ring, hidden, out };
}
