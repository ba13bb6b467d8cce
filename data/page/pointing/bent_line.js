// A limb as plain geometry in space: joints from a clamp on, each of which turns evenly.
//
// line = {x, y, above, per, direction, length, thickness, width, payload, curve, bends}
// x, y: the clamp, in units of the picture, seen from the side; above: [x, y] of it seen from
// above, null where that is not drawn; per: units of the picture for a millimetre. Lengths are in
// mm, angles in degrees: direction from hanging, a positive angle curls up, a swing turns that to
// the left. A joint is [length, turn up, turn to the left], the turns in radians: curve holds those
// of the limb without its bends, none where it is straight. A bend is {start, angle, radius, swing,
// before, joints}: its joints as they are made at those values, from so far before its middle on;
// none for an arc.

const RADIAN = Math.PI / 180;
const FINEST = 0.12; // rad, to which an arc is cut to be drawn

function mix(a, p, b, q) {
  return [a[0] * p + b[0] * q, a[1] * p + b[1] * q, a[2] * p + b[2] * q];
}

function dot(a, b) {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

function bendLength({ angle, radius }) {
  return Math.abs(angle) * RADIAN * radius;
}

// The joints of a bend and where they begin; those that hands made grow and turn with its values.
function madeBend(bend) {
  const { start, angle, swing } = bend;
  const made = bend.made ?? bend;
  const arc = bendLength(bend);
  if (!angle) return { from: start, joints: [] };
  if (!made.joints?.length) {
    const [turn, way] = [angle * RADIAN, swing * RADIAN];
    return { from: start, joints: [[arc, turn * Math.cos(way), turn * Math.sin(way)]] };
  }
  const whole = made.joints.reduce((sum, joint) => sum + joint[0], 0);
  const wide = Math.max(0.2, 1 + (arc - bendLength(made)) / whole);
  const more = angle / made.angle, spun = (swing - made.swing) * RADIAN;
  const [cos, sin] = [more * Math.cos(spun), more * Math.sin(spun)];
  return {
    from: start + arc / 2 - wide * made.before,
    joints: made.joints.map(([long, up, left]) =>
      [wide * long, cos * up - sin * left, sin * up + cos * left]),
  };
}

// The joints of a limb from the clamp on; the last may go beyond the tip.
function* jointsOf(line) {
  let done = 0;
  const bends = line.bends.map(madeBend).sort((one, other) => one.from - other.from);
  for (const { from, joints } of bends) {
    yield* unbent(line, done, from);
    done = Math.max(done, from);
    for (const joint of joints) {
      yield joint;
      done += joint[0];
    }
  }
  yield* unbent(line, done, line.length);
}

function* unbent(line, from, to) {
  let start = 0;
  for (const [long, up, left] of line.curve.length ? line.curve : [[line.length, 0, 0]]) {
    const part = Math.min(to, start + long) - Math.max(from, start);
    if (part > 0) yield [part, (up * part) / long, (left * part) / long];
    start += long;
  }
}

// Where a joint leads: place, the three directions of the limb, and how far along it that is.
function onward(from, long, up, left) {
  const along = from.along + long;
  const turn = Math.hypot(up, left);
  if (turn < 1e-12) return { ...from, along, at: mix(from.at, 1, from.ahead, long) };
  const way = mix(from.up, up / turn, from.left, left / turn);
  const sin = Math.sin(turn), half = Math.sin(turn / 2);
  const low = 2 * half * half; // 1 - cos
  const aside = mix(from.ahead, -sin, way, -low);
  const step = mix(from.ahead, (long * sin) / turn, way, (long * low) / turn);
  return {
    along,
    at: mix(from.at, 1, step, 1),
    ahead: mix(from.ahead, 1 - low, way, sin),
    up: mix(from.up, 1, aside, up / turn),
    left: mix(from.left, 1, aside, left / turn),
  };
}

function clampOf({ direction }) {
  const [sin, cos] = [Math.sin(direction * RADIAN), Math.cos(direction * RADIAN)];
  return { along: 0, at: [0, 0, 0], ahead: [sin, 0, -cos], up: [cos, 0, sin], left: [0, 1, 0] };
}

// Where a limb is, in mm from its clamp (forward, left, up), and how it runs so far along it.
function standAt(line, along) {
  let stand = clampOf(line);
  for (const [long, up, left] of jointsOf(line)) {
    const part = Math.min(1, (along - stand.along) / long);
    if (part > 0) stand = onward(stand, part * long, part * up, part * left);
    if (part < 1) break;
  }
  return stand;
}

// The same from the clamp to the tip, nowhere further apart than so many mm.
function standsOf(line, apart) {
  const stands = [clampOf(line)];
  for (const [long, up, left] of jointsOf(line)) {
    const last = stands[stands.length - 1];
    const part = Math.min(1, (line.length - last.along) / long);
    if (part <= 0) break;
    const steps = Math.ceil(part * Math.max(long / apart, Math.hypot(up, left) / FINEST)) || 1;
    for (let step = 0, now = last; step < steps; step += 1) {
      now = onward(now, (part * long) / steps, (part * up) / steps, (part * left) / steps);
      stands.push(now);
    }
  }
  return stands;
}

// A place on the picture, from the side or from above, and how the limb runs there.
function seen(line, { at, ahead }, above) {
  const [x, y] = above ? line.above : [line.x, line.y];
  const up = above ? 1 : 2;
  const size = Math.hypot(ahead[0], ahead[up]);
  const way = size > 1e-6 ? [ahead[0] / size, -ahead[up] / size] : [1, 0];
  return {
    x: x + at[0] * line.per,
    y: y - at[up] * line.per,
    ahead: way,
    left: [way[1], -way[0]],
  };
}

function lineBody(line, above) {
  const left = [], right = [];
  const half = ((above ? line.width : line.thickness) / 2) * line.per;
  for (const stand of standsOf(line, line.length / 8)) {
    const at = seen(line, stand, above);
    left.push(`${at.x + half * at.left[0]} ${at.y + half * at.left[1]}`);
    right.push(`${at.x - half * at.left[0]} ${at.y - half * at.left[1]}`);
  }
  return `M${left.join(" L")} L${right.reverse().join(" L")} Z`;
}

// The line with one of its values replaced; of = [what, number of the bend].
function lineWith(line, [what, number], value) {
  if (!(what in (line.bends[number] ?? {}))) return { ...line, [what]: value };
  const bends = line.bends.map((bend, index) =>
    index === number ? { ...bend, [what]: value, made: bend.made ?? bend } : bend);
  return { ...line, bends };
}

// From where a bend is seen rather broadside, and on which side its hollow is then: +1 the left.
function viewOf(line, [what, number]) {
  const bend = line.bends[number];
  if (!bend || !["start", "angle", "radius"].includes(what)) return { above: false, side: 1 };
  const stand = standAt(line, bend.start);
  const curl = (bend.angle < 0 ? -1 : 1), swing = bend.swing * RADIAN;
  const way = mix(stand.up, curl * Math.cos(swing), stand.left, curl * Math.sin(swing));
  const [x, y, z] = stand.ahead;
  const above = Boolean(line.above) && Math.abs(x * way[1] - y * way[0]) > Math.abs(x * way[2] - z * way[0]);
  const { left } = seen(line, stand, above);
  return { above, side: dot([way[0], -way[above ? 1 : 2], 0], [...left, 0]) < 0 ? -1 : 1 };
}

// Where the handle of a value stands, and what it points at; unit: picture units of a pixel; view:
// that of its bend, which it keeps while it is held.
function handlePlace(line, [what, number], unit, { above, side }) {
  const beside = ((above ? line.width : line.thickness) / 2) * line.per + 17 * unit;
  const on = (along) => seen(line, standAt(line, along), above);
  const moved = (at, across, along) => ({
    x: at.x + across * at.left[0] + along * at.ahead[0],
    y: at.y + across * at.left[1] + along * at.ahead[1],
    from: at,
  });
  if (what === "direction") return moved(on(0), 0, -30 * unit);
  if (what === "payload") {
    const tip = on(line.length);
    const drop = 24 + 5 * Math.sqrt(line.payload);
    return { x: tip.x, y: tip.y + drop * unit, from: tip };
  }
  const bend = line.bends[number];
  if (what === "swing") return swingPlace(line, bend, 26 * unit);
  if (what === "start") return moved(on(bend.start), 0, 0);
  if (what === "angle") return moved(on(bend.start + bendLength(bend)), -side * beside, 0);
  return moved(on(bend.start + bendLength(bend) / 2), side * beside, 0);
}

// A swing is pulled at from above, where the next bend begins or the tip is: up stands ahead of
// that place, left to the left of it, so that up and down can be told from each other.
function swingPlace(line, bend, beside) {
  const beyond = line.bends.map(({ start }) => start).filter((start) => start > bend.start);
  const from = seen(line, standAt(line, Math.min(line.length, ...beyond)), true);
  const { ahead, left } = seen(line, standAt(line, bend.start), true);
  const [cos, sin] = [Math.cos(bend.swing * RADIAN), Math.sin(bend.swing * RADIAN)];
  return {
    x: from.x + beside * (cos * ahead[0] + sin * left[0]),
    y: from.y + beside * (cos * ahead[1] + sin * left[1]),
    from,
  };
}

// How far along the line the place nearest to a point is, in mm, and how far away from it, in the
// view in which it is nearer.
function alongLine(line, x, y) {
  let best = { along: 0, away: Infinity };
  for (const stand of standsOf(line, line.length / 400)) {
    for (const above of line.above ? [false, true] : [false]) {
      const at = seen(line, stand, above);
      const away = Math.hypot(at.x - x, at.y - y);
      if (away < best.away) best = { along: stand.along, away, above };
    }
  }
  return best;
}
