// The model, in three.js. It is half a second of a phone's work, so nothing of it is touched until its screen is opened.
const Model = (() => {
  'use strict';
  const {el, button} = Parts;
  const text = (id) => document.getElementById(id).textContent;
  let shown = null;  // the running scene, once it is there

  function bytes() {
    const plain = atob(text('model-glb')), out = new Uint8Array(plain.length);
    for (let i = 0; i < plain.length; ++i) out[i] = plain.charCodeAt(i);
    return out.buffer;
  }

  /** The library runs when first asked for. */
  function loadLibrary() {
    if (window.THREE) return;
    document.head.append(el('script', {textContent: text('three-js')}));
  }

  function lights(scene) {
    scene.add(new THREE.HemisphereLight(0xffffff, 0x6b5b45, 0.55));
    const sun = new THREE.DirectionalLight(0xffffff, 0.75);
    sun.position.set(-0.8, 0.7, 0.3);
    scene.add(sun);
  }

  /** From downhill, so that the mound fills the screen; the ground runs out of it. East is x, north is -z. */
  function look({camera, controls, parts}) {
    const box = new THREE.Box3();
    parts.filter((part) => !/^(assumed[ _])?ground$/.test(part.name)).forEach((part) => box.expandByObject(part));
    const size = box.getSize(new THREE.Vector3()), middle = box.getCenter(new THREE.Vector3());
    const reach = Math.max(size.x, size.z, 1) * 1.05 / Math.min(camera.aspect, 1), turn = (Record.job.plan.downslope + 25) * Math.PI / 180;
    camera.near = reach / 1000;
    camera.far = reach * 20;
    camera.position.set(middle.x + reach * 1.1 * Math.sin(turn), middle.y + reach * 0.7, middle.z - reach * 1.1 * Math.cos(turn));
    camera.updateProjectionMatrix();
    controls.target.copy(middle);
    controls.maxPolarAngle = Math.PI;
    controls.update();
  }

  function start(canvas) {
    loadLibrary();
    const width = canvas.clientWidth, height = canvas.clientHeight;
    const renderer = new THREE.WebGLRenderer({canvas, antialias: true});
    renderer.setPixelRatio(Math.min(window.devicePixelRatio || 1, 2));
    renderer.setSize(width, height, false);
    renderer.setClearColor(0xffffff);
    renderer.gammaOutput = true;
    const scene = new THREE.Scene(), camera = new THREE.PerspectiveCamera(45, width / height, 1, 1000);
    const controls = new THREE.OrbitControls(camera, canvas);
    const draw = () => renderer.render(scene, camera);
    controls.addEventListener('change', draw);
    lights(scene);
    shown = {canvas, scene, camera, controls, draw, parts: []};
    new THREE.GLTFLoader().parse(bytes(), '', ({scene: model}) => {
      scene.add(model);
      shown.model = model;
      shown.parts = layersOf(model);
      look(shown);
      draw();
      Field.refresh();
    }, (error) => fail(error));
  }

  /** What can be switched off one by one: whatever has a mesh and a name of its own. */
  function layersOf(model) {
    const found = [];
    const collect = (node) => {
      if (node.name && (node.isMesh || node.children.some((child) => child.isMesh && !child.name))) found.push(node);
      else node.children.forEach(collect);
    };
    model.children.forEach(collect);
    return found;
  }

  let failure = '';
  function fail(error) {
    failure = `This phone cannot show the model (${error.message || error}). Use the plan.`;
    shown = null;
    Field.refresh();
  }

  function tryStart(canvas) {
    try { start(canvas); } catch (error) { fail(error); }
  }

  function switches() {
    return shown.parts.map((part) => {
      const made = button(part.name.replaceAll('_', ' '), () => {
        part.visible = !part.visible;
        shown.draw();
        Field.refresh();
      }, part.visible ? 'chosen' : '');
      made.setAttribute('aria-pressed', part.visible);
      return made;
    });
  }

  function render() {
    if (failure) return [el('p.told.look', {}, failure), button('Plan', () => Field.show('plan'), 'main')];
    const canvas = shown ? shown.canvas : el('canvas', {id: 'model'});
    if (!shown) requestAnimationFrame(() => tryStart(canvas));
    return [canvas, el('p.small', {}, 'One finger turns it, two move and zoom.'),
      shown && shown.model && button('Whole mound', () => { look(shown); shown.draw(); }),
      shown && el('div.switches', {}, switches())];
  }

  return {name: 'model', label: '3D', render, isThere: () => text('model-glb').trim() !== ''};
})();
