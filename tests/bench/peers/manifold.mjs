// Times the npm package manifold-3d on the bench mound (no strip): node manifold.mjs SCENE.json TIMES
// The package takes single-precision corners and computes in double, so its volumes agree to a few parts in a million.
// Bodies are made outside the clock; what is timed is from bodies to volumes. It puts work off until a result is
// asked for, and remembers it, so every round starts from fresh bodies.
import {readFileSync} from 'node:fs';
import Module from 'manifold-3d';
import {median} from './lot_places.mjs';

const [path, times] = process.argv.slice(2);
const scene = JSON.parse(readFileSync(path, 'utf8'));
const library = await Module();
library.setup();
const {Manifold, Mesh} = library;

function body(mesh) {
  const made = new Manifold(new Mesh({
    numProp: 3,
    vertProperties: new Float32Array(mesh.points),
    triVerts: new Uint32Array(mesh.triangles),
  }));
  if (made.status() !== 'NoError') throw new Error(`a mesh is not a body: ${made.status()}`);
  made.volume();
  return made;
}

function layerVolumes(ground, layers) {
  const volumes = [];
  let union = null, below = 0;
  for (const pieces of layers) {
    for (const piece of pieces) union = union ? union.add(piece) : piece;
    const upTo = union.subtract(ground).volume();
    volumes.push(upTo - below);
    below = upTo;
  }
  return volumes;
}

const milliseconds = [];
let volumes = [];
for (let i = 0; i < Number(times); ++i) {
  const ground = body(scene.ground);
  const layers = scene.layers.map((layer) => layer.pieces.map(body));
  const start = performance.now();
  volumes = layerVolumes(ground, layers);
  milliseconds.push(performance.now() - start);
}
console.log(JSON.stringify({milliseconds: median(milliseconds), volumes}));
