// A limb as plain geometry: straight stretches and arcs from a clamp on.
//
// line = {x, y, per, direction, length, thickness, payload, bends: [[start, angle, radius], ...]}
// x, y: the clamp, in units of the picture; per: units of the picture for a millimetre. Lengths
// are in mm, angles in degrees: direction from hanging, a positive angle curls up.

const RADIAN = Math.PI / 180;

function curvature([, angle, radius]) {
  return angle ? Math.sign(angle) / radius : 0;
}

function bendLength([, angle, radius]) {
  return Math.abs(angle) * RADIAN * radius;
}

// Where the line is, and how it runs there, so many mm from the clamp.
function placeOn(line, along) {
  let x = 0, y = 0, turned = line.direction * RADIAN, done = 0;
  const straight = (length) => {
    x += Math.sin(turned) * length;
    y += Math.cos(turned) * length;
  };
  const bends = [...line.bends].sort((one, other) => one[0] - other[0]);
  for (const bend of bends) {
    if (bend[0] >= along) break;
    straight(Math.max(0, bend[0] - done));
    done = Math.max(done, bend[0]);
    const arc = Math.min(bendLength(bend), along - done);
    const k = curvature(bend);
    if (k) {
      const next = turned + k * arc;
      x += (Math.cos(turned) - Math.cos(next)) / k;
      y += (Math.sin(next) - Math.sin(turned)) / k;
      turned = next;
      done += arc;
    }
  }
  straight(Math.max(0, along - done));
  return {
    x: line.x + x * line.per,
    y: line.y + y * line.per,
    ahead: [Math.sin(turned), Math.cos(turned)],
    left: [Math.cos(turned), -Math.sin(turned)],
  };
}

function lineBody(line) {
  const left = [], right = [];
  const half = (line.thickness / 2) * line.per;
  const steps = 120;
  for (let step = 0; step <= steps; step += 1) {
    const at = placeOn(line, (line.length * step) / steps);
    left.push(`${at.x + half * at.left[0]} ${at.y + half * at.left[1]}`);
    right.push(`${at.x - half * at.left[0]} ${at.y - half * at.left[1]}`);
  }
  return `M${left.join(" L")} L${right.reverse().join(" L")} Z`;
}

// The line with one of its values replaced; of = [what, number of the bend].
function lineWith(line, [what, number], value) {
  const changed = { ...line, bends: line.bends.map((bend) => [...bend]) };
  const column = { start: 0, angle: 1, radius: 2 }[what];
  if (column === undefined) changed[what] = value;
  else changed.bends[number][column] = value;
  return changed;
}

// Where the handle of a value stands, and what it points at; unit: picture units of a pixel.
// side is that of a bend, +1 where its hollow is at the left: a handle stays on it while it is held.
function handlePlace(line, [what, number], unit, side) {
  const beside = (line.thickness / 2) * line.per + 17 * unit;
  const moved = (at, across, along) => ({
    x: at.x + across * at.left[0] + along * at.ahead[0],
    y: at.y + across * at.left[1] + along * at.ahead[1],
    from: at,
  });
  if (what === "direction") return moved(placeOn(line, 0), 0, -30 * unit);
  if (what === "payload") {
    const tip = placeOn(line, line.length);
    const drop = 24 + 5 * Math.sqrt(line.payload);
    return { x: tip.x, y: tip.y + drop * unit, from: tip };
  }
  const bend = line.bends[number];
  if (what === "start") return moved(placeOn(line, bend[0]), 0, 0);
  if (what === "angle") return moved(placeOn(line, bend[0] + bendLength(bend)), -side * beside, 0);
  return moved(placeOn(line, bend[0] + bendLength(bend) / 2), side * beside, 0);
}

// +1 for a bend that curls up, -1 for one that curls down.
function sideOf(line, [what, number]) {
  return line.bends[number]?.[1] < 0 ? -1 : 1;
}

// How far along the line the place nearest to a point is, in mm, and how far away from it.
function alongLine(line, x, y) {
  let best = { along: 0, away: Infinity };
  for (let step = 0; step <= 400; step += 1) {
    const along = (line.length * step) / 400;
    const at = placeOn(line, along);
    const away = Math.hypot(at.x - x, at.y - y);
    if (away < best.away) best = { along, away };
  }
  return best;
}
