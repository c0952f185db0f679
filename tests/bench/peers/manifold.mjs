// Times the npm package manifold-3d on the bench mound: node manifold.mjs SCENE.json TIMES
// The package takes single-precision corners and computes in double, so its volumes agree to a few parts in a million.
// Bodies are made outside the clock; what is timed is from bodies to volumes. It puts work off until a result is
// asked for, and remembers it, so every round starts from fresh bodies. Its first rounds run before its code is
// compiled as well as it will be, and are not timed.
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

/// The union of the first k layers, for every k.
function growingUnions(layers) {
  const unions = [];
  let union = null;
  for (const pieces of layers) {
    for (const piece of pieces) union = union ? union.add(piece) : piece;
    unions.push(union);
  }
  return unions;
}

/// The upright prism over the plan where the finished mound stands above existing ground.
function footprint(mound, ground) {
  const {min, max} = mound.boundingBox();
  const outline = mound.subtract(ground).project();
  return Manifold.extrude(outline, max[2] - min[2] + 2).translate([0, 0, min[2] - 1]);
}

function layerVolumes(ground, layers) {
  let unions = growingUnions(layers), prepared = ground, below = 0;
  if (scene.strip > 0) {  // nothing counts where only the strip would have made room
    const prism = footprint(unions[unions.length - 1], ground);
    unions = unions.map((union) => union.intersect(prism));
    prepared = ground.translate([0, 0, -scene.strip]);
  }
  return unions.map((union) => {
    const upTo = union.subtract(prepared).volume(), volume = upTo - below;
    below = upTo;
    return volume;
  });
}

const milliseconds = [], untimed = Number(times) > 10 ? 20 : 0;
let volumes = [];
for (let i = -untimed; i < Number(times); ++i) {
  const ground = body(scene.ground);
  const layers = scene.layers.map((layer) => layer.pieces.map(body));
  const start = performance.now();
  volumes = layerVolumes(ground, layers);
  if (i >= 0) milliseconds.push(performance.now() - start);
}
console.log(JSON.stringify({milliseconds: median(milliseconds), volumes}));
