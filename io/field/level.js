// Setting up: the rod on a bench mark gives the height of instrument, and that the rod reading for every grade.
const Level = (() => {
  'use strict';
  const {el, button, card, length} = Parts;
  const {job} = Record;

  function askSetup(mark) {
    Entry.ask({
      title: `Rod on ${mark.name}`,
      hint: `${mark.name} is at ${length(mark.elevation)}. The rod stands on the mark itself.`,
      kind: 'rod',
      take: (rod) => {
        Record.setUp(mark, rod);
        return {
          nodes: [el('p', {}, 'Height of instrument (HI)'), el('p.huge', {id: 'hi-result'}, length(Record.hi())),
            el('p', {}, `${length(mark.elevation)} + ${length(rod)}`)],
          next: checkNext(),
        };
      },
    });
  }

  function checkNext() {
    const mark = Record.checkMark();
    return mark ? [[`Check shot on ${mark.name}`, () => CheckShot.ask('set-up')]] : [];
  }

  /** A mark the job does not have; its elevation is typed, or read from where the instrument stands. */
  function askMark() {
    const name = Record.newMarkName();
    Entry.ask({
      title: `Elevation of ${name}`,
      hint: 'As the plan or the surveyor gives it. It stays in this phone.',
      kind: 'elevation',
      take: (elevation) => { Record.change((s) => s.marks.push({name, elevation})); },
    });
  }

  function readMark() {
    const name = Record.newMarkName();
    Entry.ask({
      title: `Rod on ${name}`,
      hint: 'Something hard that will not move: a spike in a pole, a bolt, a step. Mark it.',
      kind: 'rod',
      take: (rod) => {
        const elevation = Turning.elevationAt(Record.hi(), rod, Record.decimals);
        Record.change((s) => s.marks.push({name, elevation}));
        return {nodes: [el('p', {}, `${name} is at`), el('p.huge', {}, length(elevation))]};
      },
    });
  }

  const choices = () => Record.marks().map((mark) => [`Rod on ${mark.name} (${length(mark.elevation)})`, () => askSetup(mark)]);

  function setupCard() {
    if (Record.setup()) return null;
    const text = Record.marks().length === 0 ? 'The job has no bench mark. Give one.' : 'Level the instrument. Read the rod on a bench mark.';
    return card('Set up', el('p', {}, text), choices().map(([words, action]) => button(words, action, 'main')));
  }

  function marksCard() {
    const marks = Record.marks();
    return marks.length < 2 && card('Second bench mark', el('p', {}, 'Each stage begins with a check shot on another mark than the one set up from.'),
      button('Give a bench mark its elevation', askMark),
      marks.length === 1 && Record.setup() && button('Set one with the rod', readMark));
  }

  function hiCard() {
    const setup = Record.setup();
    if (!setup) return null;
    const check = Record.checkOf('set-up'), mark = Record.checkMark();
    return card('', el('div.hi', {}, el('span', {}, 'HI'), el('b', {id: 'hi'}, length(setup.hi)), el('span', {}, Parts.unitWord)),
      el('p', {}, `${setup.mark} with the rod at ${length(setup.rod)}`),
      check ? CheckShot.line(check) : null,
      el('div.pair', {}, button('Set up again', () => Entry.choose('Set up again: whenever the instrument was moved, bumped or left alone', choices())),
        mark && button(`Check on ${mark.name}`, () => CheckShot.ask('set-up'))));
  }

  function gradeRow(grade) {
    return el('tr', {}, el('th', {}, el('span', {}, grade.name), el('small', {}, length(grade.elevation))), el('td', {}, Parts.rodAt(grade.elevation)));
  }

  function gradesCard() {
    return card('Rod at each grade', el('p.rule', {}, 'Bigger reading is lower: fill. Smaller is higher: cut.'),
      el('table.grades', {}, el('tbody', {}, [...job.grades].reverse().map(gradeRow))));
  }

  function render() {
    return [hiCard(), Record.setup() && gradesCard(), setupCard(), marksCard(),
      el('p.small', {}, job.cautions.govern)];
  }

  return {name: 'level', label: 'Level', render, askMark, readMark};
})();

// The check shot on another bench mark than the one set up from.
const CheckShot = (() => {
  'use strict';
  const {el, length} = Parts;

  function line(check) {
    const off = `${check.mark} reads ${length(check.measured)}, known ${length(check.design)}`;
    return check.pass ? Parts.told(`Check good: ${off}.`, 'good') : stop(check);
  }

  function stop(check) {
    const way = check.off > 0 ? 'high' : 'low';
    return el('div.stop', {role: 'alert'},
      el('b', {}, `STOP: ${check.mark} comes out ${Parts.amount(check.off)} ${way}.`),
      el('p', {}, `More than ${length(Record.state.limits.check_shot)} off. Build nothing on this set-up.`),
      el('ol', {}, el('li', {}, 'See that the rod stood on the mark, plumb, fully drawn out, and read it again.'),
        el('li', {}, `Level the instrument again, set up from ${Record.setup().mark}, and check again.`),
        el('li', {}, 'What was read since the last good check is in doubt: read one of those points again.'),
        el('li', {}, 'Still off: one of the marks has moved, or its elevation is wrong. Find out which, from a third mark or the surveyor.')));
  }

  /** Asks for the rod on the other mark; `stage` names what the check is for. */
  function ask(stage, next = []) {
    const mark = Record.checkMark();
    Entry.ask({
      title: `Check shot on ${mark.name}`,
      hint: `Should read ${Turning.rodText(Turning.gradeRod(Record.hi(), mark.elevation, Record.decimals), Record.decimals, Record.isMetric)}.`,
      kind: 'rod',
      take: (rod) => {
        const check = Record.check(stage, mark, rod);
        return {nodes: [line(check)], next: check.pass ? next : []};
      },
    });
  }

  return {ask, line, stop};
})();
