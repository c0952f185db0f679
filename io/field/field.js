// The bar that changes screens, the line on top, and drawing a screen again when something changed.
const Field = (() => {
  'use strict';
  const {el, length} = Parts;
  const screens = [Level, Stakes, Stages, Plan, ...(Model.isThere() ? [Model] : []), Notes];
  const place = document.getElementById('screen');
  let shown = Level;

  function tab(screen) {
    const made = Parts.button(screen.label, () => show(screen.name), screen === shown ? 'chosen' : '');
    if (screen === shown) made.setAttribute('aria-current', 'page');
    return made;
  }

  function drawBars() {
    document.getElementById('instrument').textContent = Record.hi() === null ? 'no HI' : `HI ${length(Record.hi())}`;
    document.getElementById('tabs').replaceChildren(...screens.map(tab));
  }

  /** Draws the screen again; stays where it was scrolled to unless told to begin at the top. */
  function refresh(fromTop = false) {
    const at = fromTop ? 0 : place.scrollTop;
    drawBars();
    const trouble = Record.trouble && el('p.told.bad', {role: 'alert', id: 'trouble'}, Record.trouble);
    const nodes = [trouble, shown.render()].flat(Infinity).filter(Boolean);
    place.replaceChildren(...nodes);
    place.scrollTop = at;
  }

  function show(name) {
    shown = screens.find((screen) => screen.name === name) || Level;
    refresh(true);
  }

  window.addEventListener('resize', () => refresh());
  return {show, refresh};
})();
Field.show(Record.setup() ? 'stakes' : 'level');
