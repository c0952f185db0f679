// Stage by stage, before the next layer hides it: each begins with a check shot, and each reading says high or low, how
// much, and whether it passes.
const Stages = (() => {
  'use strict';
  const {el, button, card, length} = Parts;
  const {job, decimals} = Record;
  let open = null;  // the stage that is looked at

  const done = (stage) => stage.points.filter((point) => Record.shotAt(stage.name, point.name)).length;
  const failed = (stage) => stage.points.filter((point) => { const v = Record.verdictOf(stage, point); return v && !v.pass; }).length;
  const title = (stage) => stage.name[0].toUpperCase() + stage.name.slice(1);
  const tolerance = (stage) => (stage.on_bed ? Record.state.limits.bed : Record.state.limits.elsewhere);

  function cautions(stage) {
    const lines = job.cautions.stages[job.stages.indexOf(stage)];
    return lines.length > 0 && Parts.caution(...lines);
  }

  // ---- Verdicts -------------------------------------------------------------------------------------------------------

  const standing = (off) => (off === 0 ? 'on grade' : off > 0 ? 'high' : 'low');

  /** "LOW 0.08 ft (1 in): fill"; what passes is left as it is. */
  function offText({off, pass}) {
    if (off === 0) return 'ON GRADE';
    return `${off > 0 ? 'HIGH' : 'LOW'} ${Parts.amount(off)}${pass ? '' : off > 0 ? ': cut' : ': fill'}`;
  }

  function thinText(stage, point, v) {
    if (v.thin.thick !== undefined) {
      return `Sand ${length(v.thin.thick)}, least ${length(stage.least_thickness)}: ${v.thin.spare < 0 ? `${Parts.amount(v.thin.spare)} too thin` : 'enough'}`;
    }
    return v.thin.spare < 0 ? `${Parts.amount(v.thin.spare)} too high for the least sand` : `Least sand fits, ${Parts.amount(v.thin.spare)} to spare`;
  }

  /** What to do about what fails; ground that is too high is never dug down to fit. */
  function advice(stage, v) {
    if (v.pass) return null;
    if (stage.kind === 'prepared' && v.thin && v.thin.spare < 0) {
      return 'Do not dig it down: the native topsoil treats too. Stop and ask the designer; the bed may have to go up.';
    }
    if (v.thin && v.thin.spare < 0) return 'Add sand: the least thickness has no minus tolerance.';
    return v.off > 0 ? 'Take it down, then read again.' : 'Add and rake level, then read again.';
  }

  function verdictNodes(stage, point) {
    const v = Record.verdictOf(stage, point);
    if (!v.graded) return [el('p.huge', {}, length(v.shot.measured)), Parts.told('Recorded. It has no grade to keep; sand is measured from it.', 'good')];
    return [
      el(`p.verdict.${v.pass ? 'pass' : 'fail'}`, {id: 'verdict'}, v.pass ? 'PASS' : 'FAIL'),
      v.off !== null && el('p.huge', {id: 'off'}, offText(v)),
      v.thin && el('p.big', {id: 'thin'}, thinText(stage, point, v)),
      el('p', {}, v.design === null ? `Measured ${length(v.shot.measured)}.` : `Measured ${length(v.shot.measured)}, design ${length(v.design)}, tolerance ${length(v.tolerance)}.`),
      advice(stage, v) && Parts.told(advice(stage, v), 'bad'),
    ];
  }

  function hint(point) {
    const target = point.design ?? point.highest ?? point.ground;
    if (target === undefined) return '';
    const rod = Turning.rodText(Turning.gradeRod(Record.hi(), target, decimals), decimals, Record.isMetric);
    if (point.design !== undefined) return `Should read ${rod}. Bigger is lower: fill.`;
    return point.highest === undefined ? `Ground by the survey: about ${rod}.` : `Should read ${rod} or more: smaller leaves too little sand.`;
  }

  function askPoint(stage, place) {
    const point = stage.points[place];
    Entry.ask({
      title: `${title(stage)}: ${point.name}`, hint: hint(point), kind: 'rod',
      take: (rod) => {
        Record.setShot(stage.name, point.name, rod);
        const next = stage.points.findIndex((p) => !Record.shotAt(stage.name, p.name));
        return {nodes: verdictNodes(stage, point), next: next < 0 ? [] : [[`Next: ${stage.points[next].name}`, () => askPoint(stage, next)]]};
      },
    });
  }

  // ---- One stage ------------------------------------------------------------------------------------------------------

  function gate(stage) {
    if (!Record.setup()) return Parts.needsSetup();
    const last = Record.checkOf();
    if (Record.isStopped() && last.stage !== stage.name) return [CheckShot.stop(last), button('Go to Level', () => Field.show('level'), 'main')];
    const mark = Record.checkMark(), check = Record.checkOf(stage.name);
    if (!mark) {
      return card('Check shot first', el('p', {}, 'There is no second bench mark. Give one its elevation, or set one with the rod.'),
        button('Give its elevation', Level.askMark, 'main'), button('Set one with the rod', Level.readMark));
    }
    const ask = button(check ? `Check on ${mark.name} again` : `Rod on ${mark.name}`, () => CheckShot.ask(stage.name), check ? '' : 'main');
    if (!check) return card('Check shot first', el('p', {}, `Before this stage: ${mark.name} at ${length(mark.elevation)}, within ${length(Record.state.limits.check_shot)}.`), ask);
    return card('', CheckShot.line(check), ask, !check.pass && button('Set up again', () => Field.show('level'), 'main'));
  }

  function pointRow(stage, point, place, isOpen) {
    const v = Record.verdictOf(stage, point);
    const target = point.design ?? point.highest;
    const right = v ? el(`span.mark.${v.pass ? 'pass' : 'fail'}`, {}, v.graded ? (v.pass ? 'PASS' : 'FAIL') : length(v.shot.measured),
      el('small', {}, v.off !== null ? (v.off === 0 ? 'on grade' : `${standing(v.off)} ${length(Math.abs(v.off))}`) : v.thin ? (v.thin.spare < 0 ? 'too high' : 'sand fits') : '')) :
      el('span.mark', {}, target === undefined ? '' : Parts.rodAt(target));
    const row = el('button.row', {type: 'button', onclick: () => askPoint(stage, place), disabled: !isOpen}, el('span', {}, point.name), right);
    return row;
  }

  function oneStage(stage) {
    const check = Record.checkOf(stage.name);
    const isOpen = Boolean(check && check.pass && !Record.isStopped());
    const next = stage.points.findIndex((p) => !Record.shotAt(stage.name, p.name));
    return [
      button('\u2039 All stages', () => { open = null; Field.refresh(true); }, 'quiet'),
      el('h1', {}, title(stage)), !isOpen && cautions(stage), gate(stage),
      isOpen && next >= 0 && button(`Rod at ${stage.points[next].name}`, () => askPoint(stage, next), 'main'),
      card('', el('p.rule', {}, stage.kind === 'prepared' ? rule(stage) : `Within ${Parts.amount(tolerance(stage))} up or down. Bigger reading is lower: fill.`),
        stage.least_thickness !== undefined && el('p', {}, `Sand over prepared ground: least ${length(stage.least_thickness)}, no minus tolerance.`),
        el('div.rows', {}, stage.points.map((point, place) => pointRow(stage, point, place, isOpen)))),
      isOpen && cautions(stage),
    ];
  }

  function rule(stage) {
    return stage.points.some((p) => p.highest !== undefined) ? 'Smaller reading is higher: less sand. The least sand has no minus tolerance.' : 'Shoot it now: sand thickness is measured from it.';
  }

  function stageRow(stage) {
    const count = done(stage), bad = failed(stage);
    const right = bad > 0 ? el('span.mark.fail', {}, `${bad} FAIL`) : count === stage.points.length ? el('span.mark.pass', {}, 'PASS') : el('span.mark', {}, `${count} of ${stage.points.length}`);
    return el('button.row', {type: 'button', onclick: () => { open = stage; Field.refresh(true); }}, el('b', {}, title(stage)), right);
  }

  function render() {
    if (open) return oneStage(open);
    return [el('h1', {}, 'Check each stage'), el('p', {}, 'In the order it is built, before the next layer hides it.'), el('div.rows', {}, job.stages.map(stageRow))];
  }

  return {name: 'stages', label: 'Build', render};
})();
