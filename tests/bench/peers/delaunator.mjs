// Times the npm package delaunator on the bench lot's places: node delaunator.mjs COUNT TIMES
import Delaunator from 'delaunator';
import {lotPlaces, median} from './lot_places.mjs';

const [count, times] = process.argv.slice(2).map(Number);
const places = lotPlaces(count, 300, 300);
const milliseconds = [];
let triangles = 0;
for (let i = 0; i < times; ++i) {
  const start = performance.now();
  triangles = new Delaunator(places).triangles.length / 3;
  milliseconds.push(performance.now() - start);
}
console.log(JSON.stringify({milliseconds: median(milliseconds), triangles}));
