// What was read and decided on site, kept in the phone under a key made of the job's own content: a page made anew from
// a changed job starts a record of its own, and never shows another lot's readings.
const Record = (() => {
  'use strict';
  const job = JSON.parse(document.getElementById('job').textContent);
  const isMetric = job.unit === 'm';
  const decimals = isMetric ? 3 : 2;
  const prefix = 'moundwright field record ';
  const key = prefix + job.key;

  function empty() {
    return {
      job: job.key, title: job.title,
      setups: [],   // {id, mark, rod, hi, time}
      checks: [],   // {setup, stage, mark, design, rod, measured, off, pass, time}
      hubs: {},     // by stake number: {rod, hi, measured, time}
      shots: {},    // by stage name, then point name: {rod, hi, measured, time}
      marks: [],    // bench marks a person added: {name, elevation}
      limits: {...job.limits},
      stake: 0,     // place in walking order
      inches: false,
    };
  }

  let state = empty();
  let trouble = '';  // why nothing is kept, in a sentence; empty where all is well

  /** Only what this page itself could have written. */
  function isSound(found) {
    const isObject = (x) => x !== null && typeof x === 'object' && !Array.isArray(x);
    return isObject(found) && found.job === job.key && ['setups', 'checks', 'marks'].every((k) => Array.isArray(found[k])) &&
      ['hubs', 'shots', 'limits'].every((k) => isObject(found[k])) && Number.isInteger(found.stake);
  }

  function load() {
    let text;
    try {
      text = localStorage.getItem(key);
      localStorage.setItem(prefix + 'try', '1');
      localStorage.removeItem(prefix + 'try');
    } catch {
      trouble = 'This phone does not let the page keep anything. Keep it open, and export before you close it.';
    }
    if (!text) return;
    let found = null;
    try { found = JSON.parse(text); } catch { /* told below */ }
    if (isSound(found)) {
      state = {...empty(), ...found, limits: {...job.limits, ...found.limits}};
      state.stake = Math.min(Math.max(state.stake, 0), Math.max(job.stakes.length - 1, 0));
      return;
    }
    trouble = 'What this phone kept for this job cannot be read. It is set aside; this record starts empty.';
    try { localStorage.setItem(`${key} unreadable`, text); } catch { /* no room: the old text stays until overwritten */ }
  }

  function save() {
    try {
      localStorage.setItem(key, JSON.stringify(state));
      return true;
    } catch {
      trouble = 'The last reading is not kept: the phone refused it. Keep this page open, and export now.';
      return false;
    }
  }

  /** Changes the record and keeps it at once. */
  function change(how) {
    how(state);
    save();
  }

  /** Records that earlier plans of lots left in this phone. */
  function others() {
    const found = [];
    try {
      for (let i = 0; i < localStorage.length; ++i) {
        const name = localStorage.key(i);
        if (!name.startsWith(prefix) || name === key || name.endsWith(' unreadable')) continue;
        const other = JSON.parse(localStorage.getItem(name));
        if (other && other.title === job.title) found.push(other);
      }
    } catch { /* nothing to tell */ }
    return found;
  }

  const setup = () => state.setups[state.setups.length - 1] || null;
  const hi = () => (setup() ? setup().hi : null);
  const marks = () => [...job.benchmarks, ...state.marks];
  /** The mark to check on: any but the one the instrument was set up from. */
  const checkMark = () => marks().find((mark) => !setup() || mark.name !== setup().mark) || null;

  /** Local time with its distance from UTC: 2026-05-04T09:30:00-04:00. */
  function now() {
    const date = new Date(), shift = -date.getTimezoneOffset();
    const two = (n) => String(Math.floor(Math.abs(n))).padStart(2, '0');
    const local = new Date(date.getTime() + shift * 60000).toISOString().slice(0, 19);
    return `${local}${shift < 0 ? '-' : '+'}${two(shift / 60)}:${two(shift % 60)}`;
  }

  function setUp(mark, rod) {
    change((s) => s.setups.push({
      id: s.setups.length + 1, mark: mark.name, rod,
      hi: Turning.heightOfInstrument(mark.elevation, rod, decimals), time: now(),
    }));
  }

  /** What a rod reading gives under the present set-up. */
  const shotOf = (rod) => ({rod, hi: hi(), measured: Turning.elevationAt(hi(), rod, decimals), time: now()});

  function check(stage, mark, rod) {
    const shot = shotOf(rod);
    const verdict = Turning.judge(shot.measured, mark.elevation, state.limits.check_shot, decimals);
    const done = {setup: setup().id, stage, mark: mark.name, design: mark.elevation, tolerance: state.limits.check_shot, ...shot, ...verdict};
    change((s) => s.checks.push(done));
    return done;
  }

  /** The last check shot of a stage, or of any, under the present set-up. */
  const checkOf = (stage) => state.checks.filter((c) => setup() && c.setup === setup().id && (!stage || c.stage === stage)).pop() || null;
  /** The last check shot failed: nothing more is read on this set-up. */
  const isStopped = () => Boolean(checkOf() && !checkOf().pass);

  const setHub = (number, rod) => change((s) => { s.hubs[number] = shotOf(rod); });
  const setShot = (stage, point, rod) => change((s) => { (s.shots[stage] = s.shots[stage] || {})[point] = shotOf(rod); });
  const shotAt = (stage, point) => (state.shots[stage] || {})[point] || null;

  /** One point's shot against what it should be: what is wrong, how much, and by which rule. */
  function verdictOf(stage, point) {
    const shot = shotAt(stage.name, point.name);
    if (!shot) return null;
    const tolerance = stage.on_bed ? state.limits.bed : state.limits.elsewhere;
    const verdict = {shot, design: null, off: null, tolerance, pass: true, graded: false, thin: null};
    if (point.design !== undefined) {
      Object.assign(verdict, Turning.judge(shot.measured, point.design, tolerance, decimals), {design: point.design, graded: true});
    }
    const least = leastSand(stage, point, shot);
    if (least) {
      verdict.graded = true;
      verdict.thin = least;
      verdict.pass = verdict.pass && least.spare >= 0;
    }
    return verdict;
  }

  /** Sand thickness has no minus tolerance: by the plan before the sand is down, by both shots afterwards. */
  function leastSand(stage, point, shot) {
    if (point.highest !== undefined) {
      return {spare: Turning.fillOf(shot.measured, point.highest, decimals), design: point.highest};
    }
    const below = stage.least_thickness !== undefined && shotAt(job.stages[0].name, point.name);
    if (!below) return null;
    const thick = Turning.fillOf(below.measured, shot.measured, decimals);
    return {thick, spare: Turning.difference(thick, stage.least_thickness, decimals)};
  }

  // ---- CSV ----------------------------------------------------------------------------------------------------------

  // A spreadsheet would run what begins like a formula and is no number: an apostrophe keeps it from that (io/csv_write.h).
  const guarded = (text) => (/^'*(?: *[=+@\t\r-])/.test(text) && !/^[+-]?(?:\d+\.?\d*|\.\d+)$/.test(text) ? `'${text}` : text);
  const quoted = (text) => (/[",\r\n]|^ | $/.test(text) ? `"${guarded(text).replaceAll('"', '""')}"` : guarded(text));
  const length = (value) => (value === null || value === undefined ? '' : Turning.fixedText(value, decimals));

  const columns = ['point', 'stage', 'northing', 'easting', 'design', 'measured', 'difference', 'verdict', 'time', 'rod',
    'height_of_instrument', 'tolerance'];

  /** One line of the export, from what it holds by column; the rest is left empty. */
  function row(values, place, shot) {
    const all = {...values, northing: place ? Turning.fixedText(place.n, 3) : '', easting: place ? Turning.fixedText(place.e, 3) : '',
      measured: length(shot.measured), time: shot.time, rod: length(shot.rod), height_of_instrument: length(shot.hi)};
    for (const name of ['design', 'difference', 'tolerance']) all[name] = length(all[name]);
    return columns.map((name) => quoted(String(all[name]))).join(',');
  }

  const isPlaced = (mark) => (mark && mark.n !== undefined ? mark : null);

  function shotRows(stage) {
    return stage.points.filter((point) => shotAt(stage.name, point.name)).map((point) => {
      const v = verdictOf(stage, point);
      const design = v.design ?? v.thin?.design ?? null;
      const off = design === null ? null : Turning.fillOf(design, v.shot.measured, decimals);
      const verdict = v.graded ? (v.pass ? 'pass' : 'fail') : 'recorded';
      return row({point: point.name, stage: stage.name, design, difference: off, verdict, tolerance: v.design === null ? null : v.tolerance}, point, v.shot);
    });
  }

  /** Everything recorded, for the as-built check. Difference is measured - design: above zero is high. */
  function csv() {
    const rows = [columns.join(',')];
    const named = (name) => isPlaced(marks().find((mark) => mark.name === name));
    for (const c of state.checks) {
      const verdict = c.pass ? 'pass' : 'stop';
      rows.push(row({point: c.mark, stage: `check shot: ${c.stage}`, design: c.design, difference: c.off, verdict, tolerance: c.tolerance}, named(c.mark), c));
    }
    for (const stake of job.stakes) {
      const hub = state.hubs[stake.number];
      if (hub) rows.push(row({point: stake.number, stage: 'hub', verdict: 'recorded'}, stake, hub));
    }
    for (const stage of job.stages) rows.push(...shotRows(stage));
    return rows.join('\r\n') + '\r\n';
  }

  function clear() {
    const limits = state.limits, inches = state.inches;
    state = {...empty(), limits, inches};
    save();
  }

  /** A name that no mark has yet. */
  function newMarkName() {
    let number = marks().length + 1;
    while (marks().some((mark) => mark.name === `BM${number}`)) ++number;
    return `BM${number}`;
  }

  window.addEventListener('beforeunload', (event) => { if (trouble && state.setups.length > 0) event.preventDefault(); });
  // The same page in another window of this phone: what was read there counts here.
  window.addEventListener('storage', (event) => {
    if (event.key !== key) return;
    state = empty();
    load();
    Field.refresh();
  });

  load();
  return {
    job, isMetric, decimals, key, get state() { return state; }, get trouble() { return trouble; },
    change, others, setup, hi, marks, checkMark, setUp, check, checkOf, isStopped, newMarkName, setHub, setShot, shotAt, verdictOf, csv, clear, now,
  };
})();
