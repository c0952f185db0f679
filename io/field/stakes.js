// The stakes in walking order: the rod on a hub's top gives what to write on its lath. Grade on a lath is from the top
// of its own hub, never from the ground the survey guessed.
const Stakes = (() => {
  'use strict';
  const {el, button, card, length, both} = Parts;
  const {job, decimals, isMetric} = Record;
  const far = isMetric ? 0.3 : 1.0;        // a hub this far from surveyed ground is looked at twice
  const shift = isMetric ? 0.15 : 0.5;     // a slope stake this far from its catch point is moved
  let listed = false;

  const current = () => job.stakes[Record.state.stake] || null;
  const go = (place) => Record.change((s) => { s.stake = (place + job.stakes.length) % job.stakes.length; });
  const cutOrFill = (hub, design) => Turning.cutOrFill(hub, design, decimals);

  function lath(stake, hub) {
    const {edge} = stake;
    const others = job.grades.filter((grade) => Math.abs(grade.elevation - edge.elevation) > 1e-6);
    const side = (name, ...lines) => el('section.side', {}, el('h3', {}, name), ...lines);
    return el('div.lath', {id: 'lath'},
      side('Front', el('b.number', {}, `${stake.number}`), el('p', {}, stake.what), el('p.big', {}, `${stake.station}   ${stake.offset}`)),
      side('Edge', el('b.number', {id: 'edge'}, cutOrFill(hub.measured, edge.elevation)), el('p', {}, `to ${edge.name}${edge.name === 'bed bottom' ? '' : ` ${length(edge.elevation)}`}`), inward(stake)),
      side('Back', el('table.back', {}, el('tbody', {}, others.map((grade) =>
        el('tr', {}, el('th', {}, grade.name), el('td', {}, cutOrFill(hub.measured, grade.elevation)))))),
        el('p.big', {}, `hub ${length(hub.measured)}`)));
  }

  const slopeWord = (run) => (run > 0 ? `${Number(Turning.fixedText(run, 2))}:1` : 'vertical');

  function inward(stake) {
    return stake.to_shoulder === undefined ? null : el('p', {}, `shoulder toward the bed: ${Parts.tape(stake.to_shoulder)}, at ${slopeWord(stake.slope_run)}`);
  }

  /** What to look at twice: a bust, a slope stake off its catch point. */
  function doubts(stake, hub) {
    const lines = [];
    const above = stake.ground === undefined ? 0 : Turning.difference(hub.measured, stake.ground, decimals);
    if (Math.abs(above) > far) {
      lines.push(`The survey has the ground at about ${length(stake.ground)} here: this is ${Parts.amount(above)} ${above > 0 ? 'higher' : 'lower'}. Read the rod again; is it the right stake?`);
    }
    if (stake.to_shoulder !== undefined && stake.slope_run > 0) {
      const move = Turning.catchMove(stake.to_shoulder, stake.slope_run, Turning.fillOf(hub.measured, stake.design, decimals));
      if (Math.abs(move) > shift) {
        lines.push(`Not at the catch point: for ${slopeWord(stake.slope_run)} move the stake about ${Parts.amount(move)} ${move > 0 ? 'out' : 'in'} and read again.`);
      }
    }
    return lines.map((line) => Parts.told(line, 'look'));
  }

  function askHub(stake) {
    Entry.ask({
      title: `Rod on top of ${stake.kind === 'hub' ? 'hub' : 'the hub at'} ${stake.number}`,
      hint: stake.ground === undefined ? stake.what : `${stake.what}. Ground about ${length(stake.ground)}: the rod reads near ${length(Math.max(0, Turning.gradeRod(Record.hi(), stake.ground, decimals)))}.`,
      kind: 'rod',
      take: (rod) => {
        Record.setHub(stake.number, rod);
        const hub = Record.state.hubs[stake.number];
        const last = Record.state.stake === job.stakes.length - 1;
        return {nodes: [doubts(stake, hub), lath(stake, hub)], next: last ? [] : [[`Next: ${job.stakes[Record.state.stake + 1].number}`, () => go(Record.state.stake + 1)]]};
      },
    });
  }

  function finding(stake) {
    const ties = stake.ties.map((tie, i) => el('tr', {}, el('th', {}, job.tie_marks[i].name), el('td', {}, both(tie))));
    return card('Find it', el('p', {}, `N ${Turning.fixedText(stake.n, 3)}   E ${Turning.fixedText(stake.e, 3)}`),
      ties.length > 0 && el('table.grades', {}, el('tbody', {}, ties)),
      button('On the plan', () => Field.show('plan')));
  }

  function rodCard(stake) {
    const {edge} = stake;
    return card(`Rod at ${edge.name}`, el('p.rod', {id: 'stake-rod'}, Parts.rodAt(edge.elevation)));
  }

  /** What stands in the way of reading, or is better done first. */
  function instrument() {
    if (!Record.setup()) return Parts.needsSetup();
    if (Record.isStopped()) return [CheckShot.stop(Record.checkOf()), button('Go to Level', () => Field.show('level'), 'main')];
    const mark = Record.checkMark();
    return mark && !Record.checkOf() && button(`No check shot yet on this set-up: ${mark.name}`, () => CheckShot.ask('set-up'), 'look');
  }

  function oneStake(stake) {
    const hub = Record.state.hubs[stake.number];
    return [
      el('div.stake', {}, el('b.huge', {id: 'stake-number'}, `${stake.number}`), el('span', {}, `${Record.state.stake + 1} of ${job.stakes.length}, in walking order`)),
      el('p', {}, stake.what), el('p.big', {}, `${stake.station}   ${stake.offset}`),
      stake.kind === 'feed point' && Parts.caution(job.cautions.trench, job.cautions.tank),
      instrument(), Record.setup() && !Record.isStopped() && button(hub ? `Rod on hub: ${length(hub.rod)}. Again` : 'Rod on top of the hub', () => askHub(stake), hub ? '' : 'main'),
      hub && lath(stake, hub), hub && doubts(stake, hub),
      rodCard(stake), finding(stake), fromLathCard(stake),
    ];
  }

  // ---- From a lath alone --------------------------------------------------------------------------------------------

  function askFromLath(stake) {
    const hub = Record.state.hubs[stake.number];
    const fill = Turning.fillOf(hub.measured, stake.edge.elevation, decimals);
    Entry.ask({
      title: `Rod on hub ${stake.number}, as the instrument stands now`, kind: 'rod',
      take: (onHub) => {
        const {shouldRead} = Turning.fromLath(fill, onHub, 0, decimals);
        return {nodes: [el('p', {}, `${cutOrFill(hub.measured, stake.edge.elevation)} on the lath. At grade the rod should read`), el('p.huge', {}, shouldRead < 0 ? 'nothing: above the instrument' : both(shouldRead))],
          next: shouldRead < 0 ? [] : [['Rod on the work', () => askWork(fill, onHub)]]};
      },
    });
  }

  function askWork(fill, onHub) {
    Entry.ask({
      title: 'Rod on the work', kind: 'rod',
      take: (onWork) => {
        const {shouldRead, more} = Turning.fromLath(fill, onHub, onWork, decimals);
        const text = more === 0 ? 'At grade' : `${more > 0 ? 'Fill' : 'Cut'} ${Parts.amount(more)} more`;
        return {nodes: [el('p.huge', {id: 'from-lath'}, text), el('p', {}, `It should read ${length(shouldRead)}.`)]};
      },
    });
  }

  function fromLathCard(stake) {
    if (!Record.state.hubs[stake.number]) return null;
    return card('Grade from this lath', el('p', {}, 'Where no bench mark is in sight: any set-up that sees this hub and the work.'), button('Rod on this hub', () => askFromLath(stake)));
  }

  // ---- The list -----------------------------------------------------------------------------------------------------

  function row(stake, place) {
    const hub = Record.state.hubs[stake.number], {edge} = stake;
    const open = () => { listed = false; go(place); Field.refresh(true); };
    return el('button.row.stacked', {type: 'button', onclick: open},
      el('b', {}, `${stake.number}`, el('small', {}, `${stake.station}  ${stake.offset}`)),
      el('span.mark', {}, hub ? cutOrFill(hub.measured, edge.elevation) : Parts.rodAt(edge.elevation)), el('span.wide', {}, stake.what));
  }

  function list() {
    const done = job.stakes.filter((stake) => Record.state.hubs[stake.number]).length;
    return [el('p', {}, `${done} of ${job.stakes.length} hubs shot. On the right: cut or fill of a shot hub, else the rod at its grade.`), job.stakes.map(row)];
  }

  const step = (by) => () => { listed = false; go(Record.state.stake + by); Field.refresh(true); };

  function render() {
    const stake = current();
    if (!stake) return card('Stakes', el('p', {}, 'The job has no stakes.'));
    const none = Object.keys(Record.state.hubs).length === 0;
    return [
      none && Parts.caution(job.cautions.utilities),
      el('div.three', {}, button('\u2039 Back', step(-1)), button(listed ? 'One' : 'All', () => { listed = !listed; Field.refresh(true); }, listed ? 'chosen' : ''), button('Next \u203a', step(1))),
      listed ? list() : oneStake(stake),
    ];
  }

  return {name: 'stakes', label: 'Stakes', render, current, go};
})();
