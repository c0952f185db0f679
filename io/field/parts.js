// Elements, texts and cards that the screens share. Text from the job goes in as text, never as markup.
const Parts = (() => {
  'use strict';
  const {decimals, isMetric, job} = Record;

  /** el('p.big', {onclick}, 'text', child...): a tag with classes, properties and children; null children are left out. */
  function el(what, properties, ...children) {
    const [tag, ...classes] = what.split('.');
    const element = document.createElement(tag);
    if (classes.length) element.className = classes.join(' ');
    for (const [name, value] of Object.entries(properties || {})) {
      if (name in element) element[name] = value;
      else element.setAttribute(name, value);
    }
    element.append(...children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false));
    return element;
  }

  const button = (text, onclick, look = '') => el(`button${look && '.' + look}`, {type: 'button', onclick}, text);
  const counted = (count, word) => `${count} ${word}${count === 1 ? '' : 's'}`;
  const card = (heading, ...children) => el('section.card', {}, heading && el('h2', {}, heading), ...children);
  const unitWord = job.unit === 'us-ft' ? 'ft (US survey)' : job.unit;

  const length = (value) => Turning.fixedText(value, decimals);
  /** Of what `length` prints: the same hundredths are the same inches everywhere. */
  const inches = (value) => Turning.feetInchesEighths(Turning.rounded(value, decimals));
  /** "3.72 ft" with "3 ft 8-5/8 in" under it; metres alone in metric jobs. */
  function both(value, look = 'both') {
    if (isMetric) return el(`span.${look}`, {}, el('b', {}, length(value)), el('i', {}, 'm'));
    return el(`span.${look}`, {}, el('b', {}, length(value)), el('i', {}, 'ft'),
      value >= 0 && el('small', {}, inches(value)));
  }

  /** "0.04 ft (1/2 in)", "0.012 m (12 mm)". */
  function amount(value) {
    const size = Turning.rounded(Math.abs(value), decimals);
    return isMetric ? `${length(size)} m (${Turning.fixedText(size * 1000, 0)} mm)` : `${length(size)} ft (${Turning.shortFeetInches(size)})`;
  }

  /** What the rod reads at a grade, or that it cannot be read. */
  function rodAt(grade) {
    if (Record.hi() === null) return el('span.none', {}, 'no HI yet');
    const rod = Turning.gradeRod(Record.hi(), grade, decimals);
    if (rod < 0) return el('span.none', {}, `${length(-rod)} above the instrument: set up higher`);
    if (rod > Record.state.limits.rod) return el('span.none', {}, `${length(rod)}: past the end of the rod, set up lower`);
    return both(rod);
  }

  /** A length to lay a tape out by, in words that cannot be taken for inches: "8.48 ft (8 ft 5-3/4 in)". */
  const tape = (value) => (isMetric ? `${length(value)} m` : `${length(value)} ft (${inches(value)})`);

  const caution = (...lines) => el('aside.caution', {}, el('b', {}, 'Caution'), ...lines.map((line) => el('p', {}, line)));
  const told = (text, look) => el(`p.told.${look}`, {role: 'status'}, text);

  const needsSetup = () => card('Set up first',
    el('p', {}, 'There is no height of instrument yet. Read the rod on a bench mark.'),
    button('Go to Level', () => Field.show('level'), 'main'));

  return {el, button, counted, card, unitWord, length, both, amount, tape, rodAt, caution, told, needsSetup};
})();
