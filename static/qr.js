// A QR code as rows of modules: ISO/IEC 18004, model 2, versions 1 to 15, correction M or Q, one segment of alphanumeric mode.
//
// It is here so that a tablet out of the laptop's reach can show what it holds. The tables are those of the standard (1: codewords; 9:
// blocks; annex E: alignment); the tests read its codes with one independent reader and compare every module with an independent writer.
const ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:";
const WORDS = [26, 44, 70, 100, 134, 172, 196, 242, 292, 346, 404, 466, 532, 581, 655];
const ALIGNED = [[], [6, 18], [6, 22], [6, 26], [6, 30], [6, 34], [6, 22, 38], [6, 24, 42], [6, 26, 46], [6, 28, 50], [6, 30, 54], [6, 32, 58], [6, 34, 62], [6, 26, 46, 66], [6, 26, 48, 70]];
const LEVELS = {
  M: { sign: 0b00, check: [10, 16, 26, 18, 24, 16, 18, 22, 22, 26, 30, 22, 22, 24, 24], blocks: [1, 1, 1, 2, 2, 4, 4, 4, 5, 5, 5, 8, 9, 9, 10] },
  Q: { sign: 0b11, check: [13, 22, 18, 26, 18, 24, 18, 22, 20, 24, 28, 26, 24, 20, 30], blocks: [1, 1, 2, 2, 4, 4, 6, 6, 8, 8, 8, 10, 12, 16, 12] },
};
const MASKS = [
  (x, y) => (x + y) % 2 === 0,
  (x, y) => y % 2 === 0,
  (x) => x % 3 === 0,
  (x, y) => (x + y) % 3 === 0,
  (x, y) => (Math.floor(y / 2) + Math.floor(x / 3)) % 2 === 0,
  (x, y) => ((x * y) % 2) + ((x * y) % 3) === 0,
  (x, y) => (((x * y) % 2) + ((x * y) % 3)) % 2 === 0,
  (x, y) => (((x + y) % 2) + ((x * y) % 3)) % 2 === 0,
];
export const QUIET = 4;

// --- what it holds (7.4)

const room = (version, level) => WORDS[version - 1] - LEVELS[level].check[version - 1] * LEVELS[level].blocks[version - 1];
const countBits = (version) => (version < 10 ? 9 : 11);

// How many characters a code of this version and level takes.
export function capacity(version, level) {
  const bits = 8 * room(version, level) - 4 - countBits(version);
  return 2 * Math.floor(bits / 11) + (bits % 11 >= 6 ? 1 : 0);
}

function dataWords(text, version, level) {
  const bits = [];
  const put = (value, width) => {
    for (let i = width - 1; i >= 0; i--) bits.push((value >> i) & 1);
  };
  const values = [...text].map((letter) => ALPHABET.indexOf(letter));
  put(0b0010, 4);
  put(values.length, countBits(version));
  for (let i = 0; i + 1 < values.length; i += 2) put(45 * values[i] + values[i + 1], 11);
  if (values.length % 2) put(values.at(-1), 6);
  const most = 8 * room(version, level);
  put(0, Math.min(4, most - bits.length));
  put(0, (8 - (bits.length % 8)) % 8);
  for (let pad = 0xec; bits.length < most; pad ^= 0xec ^ 0x11) put(pad, 8);
  return Array.from({ length: most / 8 }, (_, i) => bits.slice(8 * i, 8 * i + 8).reduce((sum, bit) => 2 * sum + bit, 0));
}

// --- correction (7.5): Reed-Solomon over GF(256), polynomial x^8+x^4+x^3+x^2+1, first root 1

const POWER = [1];
for (let i = 1; i < 255; i++) POWER.push((POWER[i - 1] << 1) ^ (POWER[i - 1] & 0x80 ? 0x11d : 0));
const LOG = new Map(POWER.map((value, exponent) => [value, exponent]));
const times = (a, b) => (a && b ? POWER[(LOG.get(a) + LOG.get(b)) % 255] : 0);

// The coefficients below the leading one of (x - 1)(x - 2)(x - 4) ... with `count` factors.
function generator(count) {
  let product = [1];
  for (let i = 0; i < count; i++) {
    const next = [...product, 0];
    product.forEach((one, at) => (next[at + 1] ^= times(one, POWER[i])));
    product = next;
  }
  return product.slice(1);
}

function checkWords(data, divisor) {
  const rest = divisor.map(() => 0);
  for (const word of data) {
    const lead = word ^ rest.shift();
    rest.push(0);
    divisor.forEach((one, at) => (rest[at] ^= times(one, lead)));
  }
  return rest;
}

// All codewords in the order in which they are placed (7.6): the blocks' data, column by column, then their check words.
function codewords(text, version, level) {
  const { check, blocks } = LEVELS[level];
  const data = dataWords(text, version, level);
  const [count, divisor] = [blocks[version - 1], generator(check[version - 1])];
  const short = Math.floor(data.length / count);
  const rows = Array.from({ length: count }, (_, i) => data.splice(0, short + (i >= count - (room(version, level) % count) ? 1 : 0)));
  const columns = (many) => Array.from({ length: Math.max(...many.map((row) => row.length)) }, (_, at) => many.map((row) => row[at]).filter((word) => word !== undefined)).flat();
  return [...columns(rows), ...columns(rows.map((row) => checkWords(row, divisor)))];
}

// --- the symbol (6.3, 7.7)

function blank(size) {
  return Array.from({ length: size }, () => new Array(size).fill(null));
}

function square(grid, x, y, reach, dark) {
  for (let j = -reach; j <= reach; j++) for (let i = -reach; i <= reach; i++) if (grid[y + j]?.[x + i] !== undefined) grid[y + j][x + i] = dark(Math.max(Math.abs(i), Math.abs(j)));
}

// Finders, timing, alignment, and the places kept for format and version.
function frame(version) {
  const size = 17 + 4 * version;
  const grid = blank(size);
  for (let i = 0; i < size; i++) grid[6][i] = grid[i][6] = i % 2 === 0;
  for (const [x, y] of [[3, 3], [size - 4, 3], [3, size - 4]]) square(grid, x, y, 4, (ring) => ring !== 2 && ring !== 4);
  const centres = ALIGNED[version - 1];
  for (const y of centres) for (const x of centres) if (!((x === 6 && y === 6) || (x === 6 && y === centres.at(-1)) || (y === 6 && x === centres.at(-1)))) square(grid, x, y, 2, (ring) => ring !== 1);
  format(grid, 0);
  if (version > 6) versioned(grid, version);
  return grid;
}

// The rest of value * 2^degree by this generator, behind the value (annexes C and D).
function withRest(value, width, polynomial, degree) {
  let rest = value << degree;
  for (let i = width - 1; i >= 0; i--) if ((rest >> (i + degree)) & 1) rest ^= polynomial << i;
  return (value << degree) | rest;
}

function format(grid, data) {
  const size = grid.length;
  const bits = withRest(data, 5, 0x537, 10) ^ 0x5412;
  for (let i = 0; i < 15; i++) {
    const dark = ((bits >> i) & 1) === 1;
    grid[i < 6 ? i : i < 8 ? i + 1 : size - 15 + i][8] = dark;
    grid[8][i < 8 ? size - 1 - i : i < 9 ? 7 : 14 - i] = dark;
  }
  grid[size - 8][8] = true;
}

function versioned(grid, version) {
  const bits = withRest(version, 6, 0x1f25, 12);
  for (let i = 0; i < 18; i++) {
    const [far, near] = [grid.length - 11 + (i % 3), Math.floor(i / 3)];
    grid[near][far] = grid[far][near] = ((bits >> i) & 1) === 1;
  }
}

// The free places in the order of 7.7.3: two columns at a time from the right, up and down by turns, the timing column left out.
function path(grid) {
  const free = [];
  let up = true;
  for (let right = grid.length - 1; right > 0; right -= right === 8 ? 3 : 2) {
    for (let i = 0; i < grid.length; i++) {
      const y = up ? grid.length - 1 - i : i;
      for (const x of [right, right - 1]) if (grid[y][x] === null) free.push([x, y]);
    }
    up = !up;
  }
  return free;
}

// --- which mask (7.8.3)

function lines(grid) {
  return [...grid, ...grid.map((_, x) => grid.map((row) => row[x]))].map((line) => line.map(Number).join(""));
}

export function penalty(grid) {
  let points = 0;
  for (const line of lines(grid)) {
    for (const run of line.match(/0{5,}|1{5,}/g) ?? []) points += run.length - 2;
    const edged = `0000${line}0000`;
    for (let at = edged.indexOf("1011101"); at >= 0; at = edged.indexOf("1011101", at + 1)) if (edged.slice(at - 4, at) === "0000" || edged.slice(at + 7, at + 11) === "0000") points += 40;
  }
  for (let y = 1; y < grid.length; y++) for (let x = 1; x < grid.length; x++) if (grid[y][x] === grid[y - 1][x] && grid[y][x] === grid[y][x - 1] && grid[y][x] === grid[y - 1][x - 1]) points += 3;
  const dark = grid.flat().filter(Boolean).length / grid.length ** 2;
  return points + 10 * Math.floor(Math.abs(100 * dark - 50) / 5);
}

// The rows of modules, true for dark, without the quiet edge. `least`: no smaller version than this; `mask`: this one instead of the best.
// Throws a RangeError for what is not alphanumeric or does not fit version 15.
export function modules(text, level = "M", least = 1, mask = -1) {
  if ([...text].some((letter) => !ALPHABET.includes(letter))) throw new RangeError("a character that alphanumeric mode does not have");
  let version = least;
  while (version <= WORDS.length && capacity(version, level) < text.length) version++;
  if (version > WORDS.length) throw new RangeError(`${text.length} characters; a code of version ${WORDS.length}-${level} holds ${capacity(WORDS.length, level)}`);
  const base = frame(version);
  const free = path(base);
  const words = codewords(text, version, level);
  const drawn = MASKS.map((covers, number) => {
    const grid = base.map((row) => [...row]);
    free.forEach(([x, y], i) => (grid[y][x] = ((words[i >> 3] >> (7 - (i & 7))) & 1) === 1 ? !covers(x, y) : covers(x, y)));
    format(grid, (LEVELS[level].sign << 3) | number);
    return grid;
  });
  if (mask >= 0) return drawn[mask];
  const points = drawn.map(penalty);
  return drawn[points.indexOf(Math.min(...points))];
}

// The code as an SVG element of one path, a unit a module, black on white at night too; `label` is what a screen reader says.
export function picture(rows, label) {
  const whole = rows.length + 2 * QUIET;
  const named = (name, attributes) => {
    const element = document.createElementNS("http://www.w3.org/2000/svg", name);
    Object.entries(attributes).forEach(([key, value]) => element.setAttribute(key, value));
    return element;
  };
  const svg = named("svg", { viewBox: `0 0 ${whole} ${whole}`, "shape-rendering": "crispEdges", role: "img", "aria-label": label });
  const dark = rows.flatMap((row, y) => row.map((one, x) => (one ? `M${x + QUIET} ${y + QUIET}h1v1h-1z` : ""))).join("");
  svg.append(named("path", { fill: "#fff", d: `M0 0h${whole}v${whole}h-${whole}z` }), named("path", { fill: "#000", d: dark }));
  return svg;
}
