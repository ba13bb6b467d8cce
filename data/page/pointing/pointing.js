// Point at a picture: drag its handles, tap it, draw a box on it, or do the same with keys.
// What comes in and what goes out is said in pointing/__init__.py.

const boards = new WeakMap();
const SVG = "http://www.w3.org/2000/svg";
const TAP = 6; // a pointer that moves less, in pixels, has tapped
const APART = 27; // least distance between two handles, in pixels

export default function (component) {
  const { data: [data], parentElement, setStateValue } = component;
  let board = boards.get(parentElement);
  if (!board || !board.frame.isConnected) {
    board = new Board(parentElement);
    boards.set(parentElement, board);
  }
  board.show(data, (said) => setStateValue("said", said));
  return () => board.rest();
}

function made(kind, name, inside) {
  const element = document.createElement(kind);
  element.className = name;
  inside.append(element);
  return element;
}

function drawn(kind, inside, attributes) {
  const element = document.createElementNS(SVG, kind);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  inside.append(element);
  return element;
}

function bounded(value, low, high) {
  return Math.min(Math.max(value, low), high);
}

class Board {
  constructor(parent) {
    this.parent = parent;
    this.frame = made("div", "frame", parent);
    this.picture = made("div", "picture", this.frame);
    this.over = drawn("svg", this.frame, { class: "over", "aria-hidden": "true" });
    this.places = made("div", "places", this.frame);
    this.loupe = made("div", "loupe", this.frame);
    this.loupe.setAttribute("aria-hidden", "true");
    this.help = made("div", "unseen", this.frame);
    this.help.id = "pointing-help";
    this.handles = new Map();
    this.count = 0;
    this.size = new ResizeObserver(() => this.lay());
    this.frame.addEventListener("pointerdown", (event) => this.press(event));
    this.frame.addEventListener("pointermove", (event) => this.move(event));
    this.frame.addEventListener("pointerup", (event) => this.lift(event));
    this.frame.addEventListener("pointercancel", () => this.drop());
    this.frame.addEventListener("pointerleave", () => this.hideLoupe());
    this.frame.addEventListener("keydown", (event) => this.escape(event));
  }

  rest() {
    this.size.disconnect();
  }

  // Units of the picture that a pixel of the screen covers.
  get unit() {
    return this.data.width / (this.frame.clientWidth || this.data.width);
  }

  show(data, tell) {
    this.tell = tell;
    const before = this.data;
    this.data = data;
    this.count = Math.max(this.count, data.heard);
    this.frame.style.aspectRatio = `${data.width} / ${data.height}`;
    const most = data.most_height ? `calc(${data.most_height} * ${data.width / data.height})` : "100%";
    this.frame.style.maxWidth = `min(100%, ${most})`;
    this.frame.classList.toggle("taps", data.taps);
    this.frame.classList.toggle("boxes", data.draws_boxes);
    this.over.setAttribute("viewBox", `0 0 ${data.width} ${data.height}`);
    this.help.textContent = data.help;
    if (!before || before.picture !== data.picture || before.name !== data.name) this.fill();
    if (data.heard >= this.count) {
      this.waits(false);
      if (![...this.handles.values()].some((one) => this.isAhead(one))) this.line = data.line;
    }
    this.keepHandles();
    this.size.observe(this.frame);
    this.lay();
  }

  fill() {
    const { picture, name } = this.data;
    if (picture.startsWith("data:image/")) {
      const image = new Image();
      image.alt = name;
      image.src = picture;
      image.draggable = false;
      this.picture.replaceChildren(image);
    } else {
      this.picture.innerHTML = picture;
    }
  }

  // What is shown is the answer to an earlier question until the next one comes.
  waits(yes) {
    this.frame.classList.toggle("waits", yes);
    this.frame.setAttribute("aria-busy", String(yes));
    if (!this.data.waits_in) return;
    this.parent.host?.closest(`.st-key-${this.data.waits_in}`)?.toggleAttribute("data-waits", yes);
  }

  keepHandles() {
    const wanted = new Map(this.data.handles.map((handle) => [handle.key, handle]));
    if (this.data.taps || this.data.draws_boxes) wanted.set("", this.crosshair());
    for (const [key, one] of this.handles) {
      if (wanted.has(key)) continue;
      one.element.remove();
      this.handles.delete(key);
    }
    let index = 0;
    for (const [key, handle] of wanted) {
      let one = this.handles.get(key);
      if (!one) {
        one = { key, element: this.makeHandle(key) };
        this.handles.set(key, one);
      }
      const now = this.isAhead(one) || (key === "" && one.handle) ? one : { ...handle };
      Object.assign(one, { handle, value: now.value, x: now.x, y: now.y });
      one.element.className = `handle ${key === "" ? "cross" : handle.shape}`;
      one.element.textContent = handle.sign;
      one.element.setAttribute("aria-label", handle.name);
      // an element that is put in again would lose the focus
      const there = this.places.children[index];
      if (there !== one.element) this.places.insertBefore(one.element, there ?? null);
      index += 1;
    }
  }

  // Whether a handle was moved on since what the page has answered.
  isAhead(one) {
    return this.grabbed?.one === one || one.changed || one.sent > this.data.heard;
  }

  crosshair() {
    const { width, height } = this.data;
    const name = this.data.draws_boxes
      ? "Place on the picture: arrow keys move it, Enter sets one corner of a box and then the other"
      : "Place on the picture: arrow keys move it, Enter chooses it";
    return {
      key: "", name, shape: "cross", sign: "", x: width / 2, y: height / 2, value: null,
      step: Math.max(width, height) / 200, unit: "", track: null, of: null,
    };
  }

  makeHandle(key) {
    const element = document.createElement("div");
    element.tabIndex = 0;
    element.setAttribute("role", "slider");
    element.setAttribute("aria-describedby", "pointing-help");
    element.addEventListener("keydown", (event) => this.press_key(key, event));
    element.addEventListener("keyup", () => this.settle(key));
    element.addEventListener("blur", () => this.settle(key));
    return element;
  }

  // Where a handle stands by its value or place, in units of the picture.
  placeOf(one, value = one.value) {
    const { handle } = one;
    if (handle.of && this.line) {
      const line = lineWith(this.line, handle.of, value);
      const held = this.grabbed?.one === one || this.keyed === one;
      const view = held ? one.view : viewOf(this.line, handle.of);
      return handlePlace(line, handle.of, this.unit, view);
    }
    if (handle.track) {
      const share = (value - handle.low) / (handle.high - handle.low || 1);
      const at = bounded(share, 0, 1) * (handle.track.length - 1);
      const first = Math.min(Math.floor(at), handle.track.length - 2);
      const [one_, next] = [handle.track[first], handle.track[first + 1]];
      return {
        x: one_[0] + (next[0] - one_[0]) * (at - first),
        y: one_[1] + (next[1] - one_[1]) * (at - first),
      };
    }
    return { x: one.x, y: one.y };
  }

  lay() {
    if (!this.data) return;
    this.over.replaceChildren();
    const { width, height } = this.data;
    const stands = new Map();
    for (const one of this.handles.values()) stands.set(one, this.placeOf(one));
    if (this.line && (this.grabbed || this.keyed || this.frame.classList.contains("waits"))) {
      for (const above of this.line.above ? [false, true] : [false]) {
        drawn("path", this.over, { class: "line", d: lineBody(this.line, above) });
      }
    }
    this.spread(stands);
    for (const [one, at] of stands) {
      if (at.from) {
        drawn("line", this.over, { class: "lead", x1: at.from.x, y1: at.from.y, x2: at.x, y2: at.y });
      }
      one.element.style.left = `${(100 * at.x) / width}%`;
      one.element.style.top = `${(100 * at.y) / height}%`;
      this.say(one);
    }
    this.drawBoxes();
    for (const point of this.data.points) this.drawPoint(point);
  }

  // Push handles apart that would lie on each other; one that is held stays where it is.
  spread(stands) {
    const all = [...stands].filter(([one]) => one.key !== "");
    const { width, height } = this.data;
    const least = APART * this.unit;
    for (let round = 0; round < 12; round += 1) {
      for (let i = 0; i < all.length; i += 1) {
        for (let j = i + 1; j < all.length; j += 1) {
          const [[one, a], [other, b]] = [all[i], all[j]];
          const away = Math.hypot(b.x - a.x, b.y - a.y);
          if (away >= least) continue;
          const [dx, dy] = away > 1e-6 ? [(b.x - a.x) / away, (b.y - a.y) / away] : [1, 0];
          const heldA = this.grabbed?.one === one, heldB = this.grabbed?.one === other;
          const push = (least - away) * (heldA || heldB ? 1 : 0.5);
          if (!heldA) Object.assign(a, { x: a.x - dx * push, y: a.y - dy * push });
          if (!heldB) Object.assign(b, { x: b.x + dx * push, y: b.y + dy * push });
        }
      }
    }
    for (const [, at] of all) {
      at.x = bounded(at.x, 0, width);
      at.y = bounded(at.y, 0, height);
    }
  }

  say(one) {
    const { handle, element } = one;
    const said = (value) => Number((value / (handle.per ?? 1)).toFixed(handle.per === 1 ? 3 : 2));
    const spoken = (value) => `${said(value)}${handle.unit ? ` ${handle.unit}` : ""}`;
    const free = handle.value === null;
    const range = free ? [0, this.data.width, one.x] : [handle.low, handle.high, one.value];
    for (const [name, value] of [["min", range[0]], ["max", range[1]], ["now", range[2]]]) {
      element.setAttribute(`aria-value${name}`, Number(value.toFixed(3)));
    }
    element.setAttribute(
      "aria-valuetext",
      free ? `${Math.round(one.x)} across, ${Math.round(one.y)} down` : spoken(one.value),
    );
  }

  drawBoxes() {
    const frames = this.data.boxes.map((box) => [box, "box"]);
    if (this.rubber) frames.push([{ ...this.rubber, label: "" }, "box rubber"]);
    if (this.corner) frames.push([{ ...this.cornerBox(), label: "" }, "box rubber"]);
    for (const [box, name] of frames) {
      const [x, y] = [Math.min(box.x0, box.x1), Math.min(box.y0, box.y1)];
      const [width, height] = [Math.abs(box.x1 - box.x0), Math.abs(box.y1 - box.y0)];
      drawn("rect", this.over, { class: "halo", x, y, width, height });
      drawn("rect", this.over, { class: name, x, y, width, height });
      this.drawWord(box.label, x + 3 * this.unit, y + 14 * this.unit);
    }
  }

  cornerBox() {
    const cross = this.handles.get("");
    return { x0: this.corner.x, y0: this.corner.y, x1: cross.x, y1: cross.y };
  }

  drawPoint({ x, y, label, dot }) {
    const round = { cx: x, cy: y, r: 5 * this.unit };
    if (dot) drawn("circle", this.over, { class: "halo", ...round });
    if (dot) drawn("circle", this.over, { class: "point", ...round });
    this.drawWord(label, x + 8 * this.unit, y + 4 * this.unit);
  }

  drawWord(text, x, y) {
    if (!text) return;
    const size = 13 * this.unit;
    const inside = bounded(y, size, this.data.height - size / 3);
    const word = drawn("text", this.over, { class: "word", x, y: inside, "font-size": size });
    word.setAttribute("stroke-width", 3 * this.unit);
    word.textContent = text;
  }

  // The place of an event on the picture, in its units.
  spot(event) {
    const box = this.frame.getBoundingClientRect();
    return {
      x: bounded(((event.clientX - box.left) / box.width) * this.data.width, 0, this.data.width),
      y: bounded(((event.clientY - box.top) / box.height) * this.data.height, 0, this.data.height),
    };
  }

  press(event) {
    if (event.button !== 0) return;
    const element = event.target.closest(".handle:not(.cross)");
    const at = this.spot(event);
    if (element) {
      const one = [...this.handles.values()].find((each) => each.element === element);
      this.holdView(one);
      const place = this.placeOf(one);
      this.grabbed = { one, dx: at.x - place.x, dy: at.y - place.y, from: [one.value, one.x, one.y] };
      element.focus({ preventScroll: true });
      event.preventDefault();
    } else if (this.data.taps || this.data.draws_boxes || this.data.line) {
      this.begun = { ...at, px: event.clientX, py: event.clientY };
    } else return;
    this.frame.setPointerCapture(event.pointerId);
  }

  holdView(one) {
    if (one.handle.of && this.line) one.view = viewOf(this.line, one.handle.of);
  }

  move(event) {
    const at = this.spot(event);
    if (this.grabbed) {
      this.drag(at.x - this.grabbed.dx, at.y - this.grabbed.dy);
      this.waits(true);
      this.lay();
    } else if (this.begun && this.data.draws_boxes) {
      this.rubber = { x0: this.begun.x, y0: this.begun.y, x1: at.x, y1: at.y };
      this.lay();
    }
    if (this.data.loupe) this.showLoupe(at);
  }

  drag(x, y) {
    const { one } = this.grabbed;
    const { handle } = one;
    if (handle.value === null) {
      Object.assign(one, this.inside(x, y));
      return;
    }
    this.put(one, this.nearest(one, x, y));
  }

  inside(x, y) {
    return { x: bounded(x, 0, this.data.width), y: bounded(y, 0, this.data.height) };
  }

  // The value whose place is nearest to a point: looked for coarsely, then finely.
  nearest(one, x, y) {
    const { low, high, step } = one.handle;
    let [from, to, best] = [low, high, one.value];
    for (let round = 0; round < 3; round += 1) {
      const wide = (to - from) / 60;
      let least = Infinity;
      for (let i = 0; i <= 60; i += 1) {
        const value = from + wide * i;
        const at = this.placeOf(one, value);
        const away = Math.hypot(at.x - x, at.y - y);
        if (away < least) [least, best] = [away, value];
      }
      [from, to] = [bounded(best - wide, low, high), bounded(best + wide, low, high)];
    }
    return bounded(Math.round(best / step) * step, low, high);
  }

  put(one, value) {
    one.value = value;
    if (one.handle.of && this.line) this.line = lineWith(this.line, one.handle.of, value);
  }

  lift(event) {
    const at = this.spot(event);
    if (this.grabbed) {
      const { one, from } = this.grabbed;
      this.grabbed = null;
      if (from[0] !== one.value || from[1] !== one.x || from[2] !== one.y) this.sendHandle(one);
    } else if (this.begun) {
      const moved = Math.hypot(event.clientX - this.begun.px, event.clientY - this.begun.py);
      if (moved < TAP) this.tap(at);
      else if (this.data.draws_boxes) this.sendBox({ ...this.begun }, at);
    }
    this.drop();
  }

  drop() {
    if (this.grabbed) {
      const { one, from } = this.grabbed;
      [one.value, one.x, one.y] = from;
      this.line = this.data.line;
    }
    this.grabbed = this.begun = this.rubber = null;
    this.waits(this.data.heard < this.count);
    this.hideLoupe();
    this.lay();
  }

  escape(event) {
    if (event.key !== "Escape") return;
    this.corner = null;
    this.drop();
  }

  tap(at) {
    if (this.data.taps) this.send({ kind: "tapped", x: at.x, y: at.y });
    else if (this.line) {
      const { along, away, above } = alongLine(this.line, at.x, at.y);
      const wide = above ? this.line.width : this.line.thickness;
      const near = (wide / 2) * this.line.per + 8 * this.unit;
      if (away <= near) this.send({ kind: "tapped", x: at.x, y: at.y, along });
    }
  }

  sendBox(one, other) {
    const [x0, x1] = [Math.min(one.x, other.x), Math.max(one.x, other.x)];
    const [y0, y1] = [Math.min(one.y, other.y), Math.max(one.y, other.y)];
    if (x1 > x0 && y1 > y0) this.send({ kind: "boxed", x0, y0, x1, y1 });
  }

  sendHandle(one) {
    const { key, value, x, y } = one;
    one.sent = this.send(
      value === null ? { kind: "moved", key, x, y } : { kind: "moved", key, value },
    );
  }

  send(said) {
    this.count += 1;
    this.waits(true);
    this.tell({ ...said, count: this.count });
    return this.count;
  }

  press_key(key, event) {
    const one = this.handles.get(key);
    const { handle } = one;
    if (event.key === "Delete" && key !== "" && handle.removes) {
      event.preventDefault();
      this.send({ kind: "removed", key });
      return;
    }
    if (event.key === "Enter" && key === "") {
      event.preventDefault();
      this.enter(one);
      return;
    }
    const many = event.shiftKey ? 10 : 1;
    const steps = {
      ArrowRight: [many, 0], ArrowUp: [0, many], ArrowLeft: [-many, 0], ArrowDown: [0, -many],
      PageUp: [0, 10], PageDown: [0, -10],
    }[event.key];
    const ends = { Home: handle.low, End: handle.high }[event.key];
    if (!steps && (ends === undefined || handle.value === null)) return;
    event.preventDefault();
    if (this.keyed !== one) this.holdView(one);
    this.keyed = one;
    one.changed = true;
    if (handle.value !== null) {
      const next = steps ? one.value + (steps[0] + steps[1]) * handle.step : ends;
      this.put(one, bounded(next, handle.low, handle.high));
    } else {
      Object.assign(one, this.inside(one.x + steps[0] * handle.step, one.y - steps[1] * handle.step));
      if (this.data.loupe && key === "") this.showLoupe(one);
    }
    this.lay();
  }

  enter(one) {
    if (!this.data.draws_boxes) this.send({ kind: "tapped", x: one.x, y: one.y });
    else if (this.corner) {
      this.sendBox(this.corner, one);
      this.corner = null;
    } else this.corner = { x: one.x, y: one.y };
    this.lay();
  }

  // A key that was let go: what it has changed is sent.
  settle(key) {
    const one = this.handles.get(key);
    if (key === "" || !one?.changed) {
      if (key === "") this.keyed = null;
      return;
    }
    one.changed = false;
    this.sendHandle(one);
    this.keyed = null;
    this.lay();
  }

  showLoupe(at) {
    if (!this.data.picture.startsWith("data:image/")) return;
    const across = 116, times = 4;
    const wide = this.frame.clientWidth * times, tall = this.frame.clientHeight * times;
    const [x, y] = [at.x / this.data.width, at.y / this.data.height];
    const above = y * this.frame.clientHeight > across + 20 ? -across - 14 : 22;
    Object.assign(this.loupe.style, {
      display: "block",
      left: `${bounded(x * this.frame.clientWidth - across / 2, 0, this.frame.clientWidth - across)}px`,
      top: `${y * this.frame.clientHeight + above}px`,
      backgroundImage: `url("${this.data.picture}")`,
      backgroundSize: `${wide}px ${tall}px`,
      backgroundPosition: `${across / 2 - x * wide}px ${across / 2 - y * tall}px`,
    });
  }

  hideLoupe() {
    this.loupe.style.display = "none";
  }
}
