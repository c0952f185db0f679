// What every screen of the field page promises on every phone: nothing wider than the screen, nothing too small to tap
// with gloves, nothing too pale for the sun. And jobs of other kinds: metric, bent, without bench marks, badly named.
import assert from 'node:assert/strict';
import {after, before, test} from 'node:test';
import {cleanUp, key, openPage, packet, pageIn, press, setUp, startPhone, tab, textOf} from './phone.mjs';

let fernhollow;
before(() => { fernhollow = packet('fernhollow'); });
after(cleanUp);

/** Opens a packet's page, hands it on, and holds the page to its silence. */
async function onPhone(folder, use, size) {
  const phone = await startPhone(size);
  try {
    const page = await openPage(phone, pageIn(folder));
    await use(page, phone);
    assert.deepEqual(page.faults, [], 'the page threw or complained');
    assert.deepEqual(page.requests.filter((url) => !/^(data|blob):/.test(url)), [pageIn(folder)], 'the page fetched something');
  } finally {
    await phone.close();
  }
}

// ---- what is measured on a screen --------------------------------------------------------------------------------------

/** Runs in the page: everything that is too wide, too small to tap or too pale. */
function faultsOfScreen() {
  const faults = [];
  const isShown = (e) => e.getClientRects().length > 0 && getComputedStyle(e).visibility !== 'hidden';
  const sheet = document.getElementById('entry');
  const root = sheet.hidden ? document.body : sheet;
  for (const e of [document.documentElement, document.getElementById('screen'), sheet]) {
    if (isShown(e) && e.scrollWidth > e.clientWidth) faults.push(`${e.id || e.tagName} is ${e.scrollWidth} wide in ${e.clientWidth}`);
  }
  for (const e of root.querySelectorAll('button, input, textarea, a, select')) {
    const box = e.getBoundingClientRect();
    if (isShown(e) && (box.width < 48 || box.height < 48)) faults.push(`"${e.textContent}" is ${box.width} x ${box.height}`);
    if (isShown(e) && (box.left < 0 || box.right > innerWidth)) faults.push(`"${e.textContent}" leaves the screen`);
  }
  // WCAG 2.1: relative luminance and contrast ratio.
  const parse = (text) => text.match(/[\d.]+/g).map(Number);
  const luminance = ([r, g, b]) => {
    const [R, G, B] = [r, g, b].map((c) => (c / 255 <= 0.03928 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4));
    return 0.2126 * R + 0.7152 * G + 0.0722 * B;
  };
  const behind = (e) => {
    for (let at = e; at; at = at.parentElement) {
      const colour = parse(getComputedStyle(at).backgroundColor);
      if (colour.length < 4 || colour[3] === 1) return colour;
    }
    return [255, 255, 255];
  };
  let texts = 0;
  const walk = document.createTreeWalker(root, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const e = walk.currentNode.parentElement;
    if (!walk.currentNode.data.trim() || /^(SCRIPT|STYLE|TEXTAREA|NOSCRIPT)$/.test(e.tagName) || !isShown(e)) continue;
    ++texts;
    const style = getComputedStyle(e);
    const ink = luminance(parse(e.namespaceURI.endsWith('svg') ? style.fill : style.color)), paper = luminance(behind(e));
    const ratio = (Math.max(ink, paper) + 0.05) / (Math.min(ink, paper) + 0.05);
    if (ratio < 7) faults.push(`"${walk.currentNode.data}" has contrast ${ratio.toFixed(1)}`);
    if (parseFloat(style.fontSize) < 15) faults.push(`"${walk.currentNode.data}" is ${style.fontSize}`);
  }
  if (texts === 0) faults.push('nothing to read');
  return faults;
}

async function lookOver(page, name) {
  assert.deepEqual(await page.evaluate(faultsOfScreen), [], name);
}

/** Every screen, with work done so that all kinds of cards are there. */
async function walkThrough(page) {
  await lookOver(page, 'level, not set up');
  await press(page, 'Rod on BM2');
  await lookOver(page, 'entry');
  await press(page, /^OK$/);
  await lookOver(page, 'refused');
  await key(page, '5.16');
  await lookOver(page, 'HI');
  await press(page, 'Check shot on BM1');
  await key(page, '20.40');
  await lookOver(page, 'stop');
  await press(page, 'Done');
  await lookOver(page, 'level, stopped');
  await press(page, 'Set up again');
  await lookOver(page, 'choose');
  await press(page, 'Cancel');
  await tab(page, 'Stakes');
  await lookOver(page, 'stake, stopped');
  await tab(page, 'Level');
  await press(page, 'Check on BM1');
  await key(page, '20.32');
  await press(page, 'Done');
  await tab(page, 'Stakes');
  await lookOver(page, 'stake');
  await press(page, 'Rod on top of the hub');
  await key(page, '18.05');
  await lookOver(page, 'lath with a doubt');
  await press(page, 'Done');
  await press(page, /^All$/);
  await lookOver(page, 'all stakes');
  await tab(page, 'Build');
  await lookOver(page, 'stages');
  await press(page, 'Core, to the bed bottom');
  await lookOver(page, 'stage, closed');
  await press(page, 'Rod on BM1');
  await key(page, '20.32');
  await press(page, 'Done');
  await press(page, 'Rod at upslope');
  await key(page, '9.00');
  await lookOver(page, 'fail');
  await press(page, 'Read it again');
  await press(page, 'ft in 1/8');
  await key(page, '7 9 4');
  await lookOver(page, 'pass');
  await press(page, 'Done');
  await lookOver(page, 'stage, open');
  await tab(page, 'Plan');
  await lookOver(page, 'plan');
  await press(page, 'Come close');
  await lookOver(page, 'plan, close');
  await tab(page, '3D');
  await page.locator('.switches button').first().waitFor();
  await lookOver(page, 'model');
  await tab(page, 'Notes');
  await lookOver(page, 'notes');
  await press(page, 'Show it as text');
  await lookOver(page, 'text');
  await press(page, 'Done');
  await press(page, 'Clear the record');
  await lookOver(page, 'clear');
}

for (const [width, height] of [[360, 740], [320, 568], [740, 360]]) {
  test(`every screen fits and reads on a phone of ${width} x ${height}`, () => onPhone(fernhollow, walkThrough, {width, height}));
}

// ---- plan and model ----------------------------------------------------------------------------------------------------

test('the plan shows toe, bed and stakes, marks the current one, and a tap takes another', () => onPhone(fernhollow, async (page) => {
  await tab(page, 'Plan');
  const stakes = textOf(fernhollow, 'stakes.csv').trim().split('\n').length - 1;
  assert.equal(await page.locator('#plan .stake').count(), stakes);
  const box = (selector) => page.locator(selector).boundingBox();
  const [plan, toe, bed, now] = [await box('#plan'), await box('#plan-toe'), await box('#plan-bed'), await box('#plan-current')];
  const inside = (a, b) => a.x >= b.x && a.y >= b.y && a.x + a.width <= b.x + b.width && a.y + a.height <= b.y + b.height;
  assert.ok(inside(toe, plan) && inside(bed, toe) && inside(now, plan));
  // Stake 1005 is far down the hill, south: lower on a plan with north up.
  const fifth = await page.locator('#plan .stake').nth(4).boundingBox();
  await page.touchscreen.tap(fifth.x + 6, fifth.y + 6);
  assert.equal(await page.evaluate(() => Stakes.current().number), 1005);
  assert.match(await page.locator('#screen').innerText(), /from house, NW corner\s+32\.76\s*ft\s+32 ft 9-1\/8 in/);
  assert.ok((await box('#plan-current')).y > now.y);
  const text = await page.locator('#screen').innerText();
  assert.match(text, /bed, upslope left to downslope right\s+60\.83/);
}));

test('the model is drawn only once its screen is opened, and its layers can be hidden', () => onPhone(fernhollow, async (page) => {
  assert.equal(await page.evaluate(() => typeof window.THREE), 'undefined');
  await tab(page, '3D');
  await page.locator('.switches button').first().waitFor();
  const names = await page.locator('.switches button').allInnerTexts();
  for (const layer of ['core', 'stone', 'shell', 'cover', 'topsoil']) assert.ok(names.includes(layer), names.join());
  const picture = async () => (await page.locator('#model').screenshot()).toString('base64');
  const colours = (png) => page.evaluate(async (data) => {
    const image = new Image();
    image.src = `data:image/png;base64,${data}`;
    await image.decode();
    const canvas = document.createElement('canvas');
    [canvas.width, canvas.height] = [image.width, image.height];
    const context = canvas.getContext('2d');
    context.drawImage(image, 0, 0);
    const pixels = new Uint32Array(context.getImageData(0, 0, image.width, image.height).data.buffer);
    return new Set(pixels).size;
  }, png);
  await page.waitForTimeout(500);
  const before = await picture();
  assert.ok(await colours(before) > 20, 'the canvas is blank');
  await press(page, 'topsoil');
  await page.waitForTimeout(500);
  assert.notEqual(await picture(), before);
}));

test('a phone without WebGL is told to use the plan', () => onPhone(fernhollow, async (page) => {
  await page.evaluate(() => {
    const get = HTMLCanvasElement.prototype.getContext;
    HTMLCanvasElement.prototype.getContext = function (kind, ...rest) { return kind.includes('webgl') ? null : get.call(this, kind, ...rest); };
    console.error = () => {};
  });
  await tab(page, '3D');
  assert.match(await page.locator('.told').innerText(), /cannot show the model .*Use the plan/);
}));

// ---- the file ----------------------------------------------------------------------------------------------------------

test('its policy forbids the network', () => onPhone(fernhollow, async (page) => {
  const outcomes = await page.evaluate(async () => {
    console.error = () => {};
    const image = new Promise((resolve) => { const i = new Image(); i.onload = () => resolve('loaded'); i.onerror = () => resolve('refused'); i.src = 'http://127.0.0.1:9/x.png'; });
    const fetched = await fetch('http://127.0.0.1:9/').then(() => 'fetched', () => 'refused');
    return [await image, fetched];
  });
  assert.deepEqual(outcomes, ['refused', 'refused']);
  assert.ok(page.faults.every((fault) => /Content Security Policy|violates/.test(fault)) && page.faults.length > 0, page.faults.join());
  page.faults.length = 0;
  page.requests.splice(1);
}));

test('the same job gives the same bytes', () => {
  assert.equal(textOf(packet('fernhollow'), 'field.html'), textOf(fernhollow, 'field.html'));
});

// ---- cautions ----------------------------------------------------------------------------------------------------------

// Typed apart from the program from the rules: 49 CFR 196.103; 29 CFR 1926.651(k)(1), (c)(2), 652(a)(1), 651(j)(2);
// Subpart AA; 1926.51(f).
const cautions = {
  utilities: ['811', 'before you dig or drive a stake', 'wait for the marks', 'have private lines located too'],
  trench: ['a competent person', 'a way out within 25 ft from 4 ft deep', 'a protective system from 5 ft or wherever it may cave',
    'spoil 2 ft back', '29 CFR 1926.651-652'],
  tank: ['Never enter a tank: the gas kills', '29 CFR 1926 Subpart AA'],
  sewage: ['Sewage carries disease', 'gloves', 'eye protection', 'wash', 'Pump wiring is for a licensed electrician'],
  govern: ['The permit, the local code and the licensed designer govern', 'not a land survey, a design or a permit'],
};

async function expectCautions(page, place, names) {
  const words = (await page.locator(place).allInnerTexts()).join(' ').replace(/\s+/g, ' ');
  for (const name of names) for (const said of cautions[name]) assert.ok(words.includes(said), `${name}: "${said}" is not on the screen: ${words}`);
}

test('every caution stands where the danger is met', () => onPhone(packet('fernhollow'), async (page) => {
  await expectCautions(page, '#screen', ['govern']);
  await tab(page, 'Stakes');
  await expectCautions(page, '.caution', ['utilities']);
  await press(page, /^All$/);
  await page.locator('.row', {hasText: 'feed point'}).first().tap();
  await expectCautions(page, '.caution', ['trench', 'tank']);
  await tab(page, 'Build');
  await press(page, 'Prepared ground');
  await expectCautions(page, '.caution', ['trench']);
  await press(page, 'All stages');
  await press(page, 'to the lateral invert');
  await expectCautions(page, '.caution', ['sewage', 'tank']);
  await tab(page, 'Notes');
  await expectCautions(page, '.caution', Object.keys(cautions));
}));

// ---- other jobs --------------------------------------------------------------------------------------------------------

test('a metric job is in metres all over', () => onPhone(packet('fernhollow', (text) => text.replace('units = "ft"', 'units = "m"')), async (page) => {
  await press(page, 'Rod on BM2');
  assert.equal(await page.locator('.unit').innerText(), 'meters');
  await page.locator('#entry input').fill('5.1');
  await press(page, /^OK$/);
  assert.match(await page.locator('.refused').textContent(), /5\.100 is past the end of a 5 m rod/);
  await page.locator('#entry input').fill('4.134');
  await press(page, /^OK$/);
  assert.equal(await page.locator('#hi-result').textContent(), '119.294');
  await press(page, 'Done');
  await tab(page, 'Stakes');
  await press(page, 'Rod on top of the hub');
  await key(page, '4.000');
  assert.match(await page.locator('#edge').textContent(), /^C 2\.7\d\d$/);
  // Cautions quote a rule that is written in feet; nothing else may.
  const withoutCautions = (id) => page.evaluate((name) => {
    const copy = document.getElementById(name).cloneNode(true);
    copy.querySelectorAll('.caution').forEach((e) => e.remove());
    return copy.textContent;
  }, id);
  let words = await withoutCautions('entry');
  await press(page, 'Done');
  for (const label of ['Level', 'Stakes', 'Plan', 'Notes']) {
    await tab(page, label);
    words += await withoutCautions('screen');
  }
  assert.doesNotMatch(words, /\d ?ft\b|\/8 in\b|feet|inch/);
  assert.match(words, /0\.015 m/);
}));

test('a bent job in US survey feet over an undercut', () => onPhone(packet('ridgeback'), async (page) => {
  await setUp(page, 'BM1', '2.00');
  assert.match(await page.locator('.hi').innerText(), /877\.93[\s\S]*US survey/);
  await tab(page, 'Build');
  await press(page, 'Prepared ground');
  assert.match(await page.locator('.caution').innerText(), /Trenches and pits[\s\S]*29 CFR 1926\.651/);
  await press(page, 'Rod on BM2');
  await key(page, '12.72');
  await press(page, 'Done');
  await page.locator('.rows button').first().tap();
  await key(page, (877.93 - 867.3 + 0.11).toFixed(2));
  assert.equal(await page.locator('#verdict').textContent(), 'FAIL');
  assert.match(await page.locator('#off').textContent(), /^LOW 0\.11 ft/);
  await press(page, 'Done');
  await tab(page, 'Plan');
  await lookOver(page, 'plan of the bent job');
}));

test('a job without bench marks asks for both', () => {
  const bare = (text) => text.replace(/\[benchmark\][\s\S]*?(?=\[mound\])/, '');
  return onPhone(packet('fernhollow', bare), async (page) => {
    await press(page, 'Give a bench mark its elevation');
    await key(page, '115.16');
    await press(page, 'Rod on BM1');
    await key(page, '5.16');
    await press(page, 'Done');
    assert.equal(await page.locator('#hi').textContent(), '120.32');
    await tab(page, 'Build');
    await press(page, 'Stone, top');
    await press(page, 'Set one with the rod');
    await key(page, '4.00');
    await press(page, 'Done');
    await press(page, 'Rod on BM2');
    await key(page, '4.03');
    assert.match(await page.locator('.stop').innerText(), /BM2 comes out 0\.03 ft .*low/);
  });
});

test('names that look like markup stay names', () => {
  const nasty = '</script><script>document.title=1</script><b>&amp; {{job}}';
  const edit = (text) => text.replace('"Lot 7, Fernhollow Lane"', `'${nasty}'`).replace('name = "oak at BM2"', `name = '<img src=x onerror=alert(1)>'`);
  return onPhone(packet('fernhollow', edit), async (page) => {
    assert.equal(await page.locator('#title').textContent(), nasty);
    assert.ok((await page.title()).startsWith(nasty));
    await tab(page, 'Plan');
    assert.match(await page.locator('#screen').innerText(), /<img src=x/);
    assert.equal(await page.locator('#screen img').count(), 0);
  });
});
