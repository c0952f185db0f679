// A plan to find the stakes on: toe, bed, stakes, marks to tape from, north. Drawn at the size of the screen, so that
// numbers stay readable at any scale; north is up.
const Plan = (() => {
  'use strict';
  const {el, button, card, both} = Parts;
  const {job} = Record;
  const near = Record.isMetric ? 8 : 25;  // what the close view shows on each side of the stake
  let close = false;
  let moved = null;  // by dragging: {e, n} of the middle

  function svg(tag, attributes, text) {
    const element = document.createElementNS('http://www.w3.org/2000/svg', tag);
    for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
    if (text !== undefined) element.textContent = text;
    return element;
  }

  /** Everything that the whole view must hold. */
  function extent() {
    const places = [...job.plan.toe.flat(), ...job.stakes.map((s) => [s.e, s.n]), ...job.tie_marks.map((m) => [m.e, m.n])];
    const [es, ns] = [0, 1].map((k) => places.map((p) => p[k]));
    return {e: [Math.min(...es), Math.max(...es)], n: [Math.min(...ns), Math.max(...ns)]};
  }

  function view(width, height) {
    const stake = Stakes.current(), {e, n} = extent();
    const zoomed = close && stake;
    const margin = 34;
    const scale = zoomed ? (width / 2) / near : Math.min((width - 2 * margin) / (e[1] - e[0]), (height - 2 * margin) / (n[1] - n[0]));
    const middle = moved || (zoomed ? {e: stake.e, n: stake.n} : {e: (e[0] + e[1]) / 2, n: (n[0] + n[1]) / 2});
    return {scale, middle, x: (at) => width / 2 + (at - middle.e) * scale, y: (at) => height / 2 - (at - middle.n) * scale};
  }

  const path = (v, loops, closed = true) => loops.map((loop) =>
    'M' + loop.map(([e, n]) => `${v.x(e).toFixed(1)} ${v.y(n).toFixed(1)}`).join('L') + (closed ? 'Z' : '')).join('');

  function drawStakes(drawing, v) {
    const current = Stakes.current();
    for (const stake of job.stakes) {
      const x = v.x(stake.e), y = v.y(stake.n), isShot = Boolean(Record.state.hubs[stake.number]);
      const isHub = stake.kind === 'hub';
      drawing.append(isHub ? svg('rect', {x: x - 6, y: y - 6, width: 12, height: 12, class: isShot ? 'shot' : 'stake'}) : svg('circle', {cx: x, cy: y, r: 5, class: isShot ? 'shot' : 'stake'}));
      if (close && stake !== current) drawing.append(svg('text', {x: x + 9, y: y + 19}, stake.number));
    }
    if (!current) return;
    const x = v.x(current.e), y = v.y(current.n);
    drawing.append(svg('circle', {cx: x, cy: y, r: 15, class: 'current', id: 'plan-current'}), svg('circle', {cx: x, cy: y, r: 5, class: 'dot'}));
    drawing.append(svg('text', {x: x > 250 ? x - 20 : x + 20, y: y - 12, class: 'now', 'text-anchor': x > 250 ? 'end' : 'start'}, current.number));
    current.ties.forEach((tie, i) => {
      const mark = job.tie_marks[i];
      drawing.insertBefore(svg('line', {x1: x, y1: y, x2: v.x(mark.e), y2: v.y(mark.n), class: 'tie'}), drawing.querySelector('.stake, .shot'));
    });
  }

  function drawMarks(drawing, v, marks, look) {
    for (const mark of marks) {
      if (mark.n === undefined) continue;
      const x = v.x(mark.e), y = v.y(mark.n), turned = x > 200;
      drawing.append(svg('path', {d: `M${x} ${y - 9}L${x + 8} ${y + 6}L${x - 8} ${y + 6}Z`, class: look}));
      drawing.append(svg('text', {x: turned ? x - 12 : x + 12, y: y + 22, 'text-anchor': turned ? 'end' : 'start'}, mark.name));
    }
  }

  /** A bench mark that is taped from as well needs one name only. */
  const isTied = (mark) => job.tie_marks.some((tie) => Math.hypot(tie.e - mark.e, tie.n - mark.n) < 1);

  function drawNorth(drawing, width) {
    const x = width - 28;
    drawing.append(svg('path', {d: `M${x} 12L${x + 9} 44L${x} 37L${x - 9} 44Z`, class: 'north'}), svg('text', {x, y: 64, 'text-anchor': 'middle', class: 'now'}, 'N'));
  }

  /** Which way water runs, so that U and D are found without thinking. */
  function drawDownslope(drawing, v) {
    const bed = job.plan.bed.flat();
    const middle = [0, 1].map((k) => bed.reduce((sum, p) => sum + p[k], 0) / bed.length);
    const turn = job.plan.downslope * Math.PI / 180, x = v.x(middle[0]), y = v.y(middle[1]);
    const to = [x + 46 * Math.sin(turn), y - 46 * Math.cos(turn)];
    drawing.append(svg('line', {x1: x, y1: y, x2: to[0], y2: to[1], class: 'water', 'marker-end': 'url(#tip)'}));
    drawing.append(svg('text', {x: to[0] + 10, y: to[1] - 2}, 'downslope'));
  }

  function draw() {
    const width = Math.max(300, document.getElementById('screen').clientWidth - 24), height = Math.min(420, width * 1.1);
    const v = view(width, height);
    const drawing = svg('svg', {id: 'plan', viewBox: `0 0 ${width} ${height}`, width, height, role: 'img', 'aria-label': 'Plan of the stakes, north up'});
    const tip = svg('marker', {id: 'tip', markerWidth: 8, markerHeight: 8, refX: 6, refY: 4, orient: 'auto'});
    tip.append(svg('path', {d: 'M0 0L8 4L0 8Z'}));
    drawing.append(svg('defs', {}));
    drawing.firstChild.append(tip);
    drawing.append(svg('path', {d: path(v, job.plan.features.filter((f) => f.line.length > 1).map((f) => f.line), false), class: 'feature'}));
    drawing.append(svg('path', {d: path(v, [...job.plan.toe, ...job.plan.holes]), class: 'toe', 'fill-rule': 'evenodd', id: 'plan-toe'}));
    drawing.append(svg('path', {d: path(v, job.plan.bed), class: 'bed', id: 'plan-bed'}));
    drawDownslope(drawing, v);
    drawMarks(drawing, v, job.benchmarks.filter((mark) => !isTied(mark)), 'bench');
    drawMarks(drawing, v, job.tie_marks, 'tape');
    drawStakes(drawing, v);
    drawNorth(drawing, width);
    drawing.append(...drawing.querySelectorAll('text'));  // words over lines
    follow(drawing, v);
    return drawing;
  }

  /** A drag moves the plan; a tap takes the nearest stake. */
  function follow(drawing, v) {
    let from = null, dragged = false;
    drawing.addEventListener('pointerdown', (event) => { from = {x: event.clientX, y: event.clientY}; dragged = false; });
    drawing.addEventListener('pointermove', (event) => {
      if (from && Math.hypot(event.clientX - from.x, event.clientY - from.y) > 12) dragged = true;
    });
    drawing.addEventListener('pointerup', (event) => {
      if (!from) return;
      if (dragged) {
        moved = {e: v.middle.e - (event.clientX - from.x) / v.scale, n: v.middle.n + (event.clientY - from.y) / v.scale};
      } else {
        takeNearest(drawing, v, event);
      }
      from = null;
      Field.refresh();
    });
  }

  function takeNearest(drawing, v, event) {
    const box = drawing.getBoundingClientRect();
    const away = (stake) => Math.hypot(v.x(stake.e) - (event.clientX - box.left), v.y(stake.n) - (event.clientY - box.top));
    const best = job.stakes.reduce((a, b) => (away(a) <= away(b) ? a : b));
    if (away(best) < 40) Stakes.go(job.stakes.indexOf(best));
  }

  const step = (by) => () => { moved = null; Stakes.go(Record.state.stake + by); Field.refresh(); };

  function tapeTable(checks) {
    return el('table.grades', {}, el('tbody', {}, checks.map((c) => el('tr', {}, el('th', {}, c.what), el('td', {}, both(c.distance))))));
  }

  function render() {
    const stake = Stakes.current();
    return [
      draw(),
      el('p.small', {}, 'Squares: hubs. Dots: slope stakes and feed points. Black: shot. Triangles: marks. Tap a stake to take it, drag to move.'),
      el('div.pair', {}, button(close ? 'Whole lot' : 'Come close', () => { close = !close; moved = null; Field.refresh(); }), button('To this stake', () => Field.show('stakes'))),
      el('div.pair', {}, button('\u2039 Back', step(-1)), button('Next \u203a', step(1))),
      stake && card(`Stake ${stake.number}`, el('p', {}, stake.what), el('p.big', {}, `${stake.station}   ${stake.offset}`),
        stake.ties.length > 0 ? tapeTable(stake.ties.map((tie, i) => ({what: `from ${job.tie_marks[i].name}`, distance: tie}))) : el('p', {}, 'The job has no two marks to tape from.')),
      card('Diagonals', el('p', {}, 'Equal pairs prove a straight bed square. Tape level.'), tapeTable(job.diagonals)),
      card('Sides of the bed', tapeTable(job.sides)),
    ];
  }

  return {name: 'plan', label: 'Plan', render};
})();
