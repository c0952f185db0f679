// The places of tests/bench/bench_lot.h, bit for bit: x0, y0, x1, y1, ... in one Float64Array.
const mask = (1n << 64n) - 1n;

function draw(i) {
  let z = (i * 0x9e3779b97f4a7c15n) & mask;
  z = ((z ^ (z >> 30n)) * 0xbf58476d1ce4e5b9n) & mask;
  z = ((z ^ (z >> 27n)) * 0x94d049bb133111ebn) & mask;
  z ^= z >> 31n;
  return Number(z >> 11n) / 2 ** 53;
}

export function lotPlaces(count, width, depth) {
  const places = new Float64Array(2 * count);
  for (let i = 0; i < count; ++i) {
    places[2 * i] = draw(BigInt(2 * i + 1)) * width - width / 2;
    places[2 * i + 1] = draw(BigInt(2 * i + 2)) * depth - depth / 2;
  }
  return places;
}

export const median = (values) => [...values].sort((a, b) => a - b)[values.length >> 1];
