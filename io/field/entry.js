// The sheet on which a number is typed: its own big keys, because a phone's keyboard hides the page and asks for dry
// fingers. What cannot be right is refused with a sentence; what was typed stays there to be mended.
const Entry = (() => {
  'use strict';
  const {el, button} = Parts;
  const sheet = document.getElementById('entry');
  let asked = null;   // what the sheet was opened for
  let box = null, message = null;

  /** Reads what was typed; returns {value} or {refused: sentence}. */
  function read(text, {kind, inches}) {
    if (text.trim() === '') return {refused: 'Nothing is typed yet.'};
    const value = inches ? Turning.parseFeetInches(text) : Turning.parseDecimal(text);
    const example = inches ? 'Type feet, then inches up to 11, then eighths up to 7.' : `Type a number such as ${Record.isMetric ? '1.134' : '3.72'}.`;
    if (!Number.isFinite(value)) return {refused: `"${text}" is not a reading. ${example}`};
    if (kind === 'rod') return rodReading(value);
    if (kind === 'limit' && value <= 0) return {refused: 'This must be more than zero.'};
    if (kind === 'length' && value < 0) return {refused: 'This cannot be below zero.'};
    return {value: Turning.rounded(value, Record.decimals)};
  }

  function rodReading(value) {
    const rod = Record.state.limits.rod;
    if (value < 0) return {refused: 'A rod cannot read below zero. Read it again.'};
    if (value > rod) {
      return {refused: `${Parts.length(value)} is past the end of a ${Number(rod)} ${Record.isMetric ? 'm' : 'ft'} rod. Read it again, or change the rod's length under Notes.`};
    }
    return {value: Turning.rounded(value, Record.decimals)};
  }

  const usesInches = () => !Record.isMetric && asked.kind !== 'elevation' && Record.state.inches;

  function press(key) {
    message.textContent = '';
    if (key === 'back') box.value = box.value.replace(/.\s?$/, '');
    else if (key === ' ') box.value = box.value.trim().split(/\s+/).length < 3 && box.value.trim() ? box.value.trim() + ' ' : box.value;
    else if (key !== '.' || !box.value.includes('.')) box.value += key;
    shown();
  }

  /** "3 8 5" as feet, inches and eighths while it is typed. */
  function shown() {
    const [feet, inches, eighths] = box.value.split(' ');
    const text = document.getElementById('typed');
    if (!usesInches()) { text.textContent = ''; return; }
    text.textContent = `${feet || '__'} ft ${inches || '__'} in ${eighths || '_'}/8`;
  }

  function enter() {
    const {value, refused} = read(box.value, {kind: asked.kind, inches: usesInches()});
    if (refused) {
      message.textContent = refused;
      return;
    }
    const result = asked.take(value);
    if (result) showResult(result);
    else close();
  }

  function keypad() {
    const inches = usesInches();
    const keys = ['1', '2', '3', '4', '5', '6', '7', '8', '9', inches ? ' ' : '.', '0', 'back'];
    const face = {' ': 'next', back: '\u232b'};
    const label = {' ': 'next: inches, then eighths', back: 'take back', '.': 'point'};
    return el('div.keys', {}, keys.map((key) => {
      const made = button(face[key] || key, () => press(key));
      made.setAttribute('aria-label', label[key] || key);
      return made;
    }));
  }

  /** Feet and inches are marked all over, so that inches are never read as tenths. */
  function unitSwitch() {
    if (Record.isMetric) return el('p.unit', {}, 'meters');
    if (asked.kind === 'elevation') return el('p.unit', {}, 'decimal feet');
    const choose = (inches) => () => { Record.change((s) => { s.inches = inches; }); draw(); };
    const inches = usesInches();
    const choice = (text, isOn, to) => {
      const made = button(text, choose(to), isOn ? 'chosen' : '');
      made.setAttribute('aria-pressed', isOn);
      return made;
    };
    return el('div.pair.unit', {}, choice('decimal ft', !inches, false), choice('ft in 1/8', inches, true));
  }

  function draw() {
    message = el('p.refused', {role: 'alert'});
    box = el('input', {type: 'text', inputMode: 'none', autocomplete: 'off', enterKeyHint: 'done', oninput: () => { message.textContent = ''; shown(); }});
    box.setAttribute('aria-label', asked.title);
    box.addEventListener('keydown', (event) => { if (event.key === 'Enter') enter(); });
    sheet.replaceChildren(
      el('h2', {}, asked.title), asked.hint ? el('p.hint', {}, asked.hint) : '', unitSwitch(),
      el('div.typing', {}, box, el('span', {id: 'typed'})), message, keypad(),
      el('div.pair', {}, button('Cancel', close), button('OK', enter, 'main')));
    shown();
    box.focus({preventScroll: true});
  }

  /** `nodes` to look at, and what may be done next: [[text, action], ...]; the first is the main one. */
  function showResult({nodes, next = []}) {
    sheet.replaceChildren(el('h2', {}, asked.title), el('div.result', {}, nodes),
      el('div.after', {},
        next.map(([text, action]) => button(text, () => leave(action), 'main')),
        el('div.pair', {}, button('Read it again', draw), button('Done', close))));
    sheet.scrollTop = 0;
  }

  function close() {
    sheet.hidden = true;
    sheet.replaceChildren();
    document.body.classList.remove('busy');
    Field.refresh();
  }

  /** Closes the sheet and does something, which may open it again. */
  function leave(action) {
    close();
    action();
    Field.refresh();
  }

  function show() {
    sheet.hidden = false;
    document.body.classList.add('busy');
  }

  /**
   * Asks for a number: {title, hint, kind, take}. Kinds: rod, elevation, length (of zero or more), limit (above zero).
   * `take` gets the value and returns what to show, or nothing to close the sheet.
   */
  function ask(what) {
    asked = what;
    show();
    draw();
  }

  /** Asks a question whose first answer changes something: {title, text, yes, no, action}. */
  function confirm({title, text, yes, no, action}) {
    show();
    sheet.replaceChildren(el('h2', {}, title), el('p', {}, text),
      el('div.after', {}, button(no, close, 'main'), button(yes, () => { action(); close(); }, 'danger')));
  }

  /** Lets one of several things be done: [[text, action], ...]. */
  function choose(title, choices) {
    show();
    sheet.replaceChildren(el('h2', {}, title), el('div.after', {},
      choices.map(([text, action]) => button(text, () => leave(action), 'main')), button('Cancel', close)));
  }

  /** Shows nodes with a way back. */
  function tell(title, nodes) {
    show();
    sheet.replaceChildren(el('h2', {}, title), el('div.result', {}, nodes), el('div.after', {}, button('Done', close, 'main')));
  }

  return {ask, confirm, choose, tell, read};
})();
