// The field page as an operator uses it: on a phone, with taps.
import assert from 'node:assert/strict';
import {execFileSync} from 'node:child_process';
import {readFileSync} from 'node:fs';
import {after, before, test} from 'node:test';
import {cleanUp, key, openPage, packet, pageIn, press, setUp, startPhone, tab, tableOf, textOf} from './phone.mjs';

let fernhollow, phone, page;

before(() => { fernhollow = packet('fernhollow'); });
test.beforeEach(async () => {
  phone = await startPhone();
  page = await openPage(phone, pageIn(fernhollow));
});
test.afterEach(async () => {
  const {faults, requests} = page;
  await phone.close();
  assert.deepEqual(faults, [], 'the page threw or complained');
  assert.deepEqual(requests.filter((url) => !/^(file|data|blob):/.test(url)), [], 'the page asked the network');
  assert.equal(requests.filter((url) => url.startsWith('file:')).length > 1, page.reloaded === true, 'the page fetched another file');
});
after(cleanUp);

// ---- arithmetic ------------------------------------------------------------------------------------------------------

test('the arithmetic is that of geom/stakes.h, digit for digit', async () => {
  const values = JSON.parse(execFileSync(process.env.MOUNDWRIGHT_TURNING_VALUES, {maxBuffer: 1 << 26}).toString());
  assert.ok(values.length > 4000);
  const wrong = await page.evaluate((all) => all.map((v) => {
    const own = {hi: v.hi, grade: v.grade, ground: v.ground, rod: Turning.gradeRod(v.hi, v.grade, 2), feet_inches: Turning.feetInchesEighths(Math.abs(v.hi - v.grade))};
    for (const [unit, decimals] of [['ft', 2], ['m', 3]]) {
      own[unit] = {cut_or_fill: Turning.cutOrFill(v.ground, v.grade, decimals), rod: Turning.rodText(Turning.gradeRod(v.hi, v.grade, decimals), decimals, unit === 'm'), fixed: Turning.fixedText(v.grade, decimals)};
    }
    return own;
  }), values);
  values.forEach((value, i) => assert.deepEqual(wrong[i], value));
});

test('published and worked examples of levelling', async () => {
  const t = await page.evaluate(() => ({
    // NAVEDTRA 14081, p. 15-30: C 7.5, rod on hub 5.0, rod in cut 12.2: should read 12.5, cut 0.3 more.
    cut: Turning.fromLath(-7.5, 5.0, 12.2, 2),
    // The same: F 7.0, rod on hub 12.0, rod on fill 5.5: should read 5.0, fill 0.5 more.
    fill: Turning.fromLath(7.0, 12.0, 5.5, 2),
    // Wolf and Ghilani, Elementary Surveying: BM 820.00, BS 8.42, HI 828.42 in print; FS 1.20 gives 827.22 (computed).
    hi: Turning.heightOfInstrument(820.00, 8.42, 2),
    turned: Turning.elevationAt(828.42, 1.20, 2),
    // Bed bottom 101.40, hub shot 99.32, HI 105.12 (worked here).
    edge: Turning.cutOrFill(99.32, 101.40, 2),
    rod: Turning.rodText(Turning.gradeRod(105.12, 101.40, 2), 2, false),
    nothing: Turning.shortFeetInches(0), half: Turning.shortFeetInches(0.04), foot: Turning.shortFeetInches(2),
    typed: [Turning.parseFeetInches('3 8 5'), Turning.parseFeetInches('3 12 0'), Turning.parseFeetInches('3 8 8'), Turning.parseFeetInches('3.5')],
  }));
  assert.deepEqual(t.cut, {shouldRead: 12.5, more: -0.3});
  assert.deepEqual(t.fill, {shouldRead: 5, more: 0.5});
  assert.deepEqual([t.hi, t.turned], [828.42, 827.22]);
  assert.equal(t.edge, 'F 2.08');
  assert.equal(t.rod, '3.72 (3 ft 8-5/8 in)');
  assert.deepEqual([t.nothing, t.half, t.foot], ['0 in', '1/2 in', '2 ft']);
  assert.equal(t.typed[0], 3 + 8.625 / 12);
  assert.deepEqual(t.typed.slice(1), [NaN, NaN, NaN]);
});

// ---- setting up --------------------------------------------------------------------------------------------------------

test('the rod on a bench mark gives HI, and the readings of every grade and stake', async () => {
  await press(page, 'Rod on BM2');
  await key(page, '5.16');
  assert.equal(await page.locator('#hi-result').textContent(), '120.32');
  await press(page, 'Done');
  assert.equal(await page.locator('#hi').textContent(), '120.32');
  const rows = await page.locator('.grades tr').allInnerTexts();
  const grades = JSON.parse(textOf(fernhollow, 'summary.json')).grades;
  assert.equal(rows.length, grades.length);
  for (const grade of grades) {
    const row = rows.find((text) => text.includes(grade.name));
    assert.ok(row.includes((120.32 - grade.elevation).toFixed(2)), `${grade.name}: ${row}`);
    assert.match(row, /\d+ ft \d+(-\d\/\d)? in/);
  }
  await tab(page, 'Stakes');
  await press(page, /^All$/);
  const listed = await page.locator('.row').allInnerTexts();
  const stakes = tableOf(textOf(fernhollow, 'stakes.csv'));
  assert.equal(listed.length, stakes.length);
  stakes.forEach((stake, i) => {
    assert.ok(listed[i].startsWith(stake.point), listed[i]);
    assert.ok(listed[i].includes(stake.description) && listed[i].includes(stake.station), listed[i]);
    if (stake.elevation) assert.ok(listed[i].includes((120.32 - Number(stake.elevation)).toFixed(2)), listed[i]);
  });
});

test('a grade above the instrument is told, not computed below zero', async () => {
  await setUp(page, 'BM1', '5.12');
  const rows = await page.locator('.grades td').allInnerTexts();
  assert.ok(rows.every((text) => /above the instrument: set up higher/.test(text)), rows.join());
});

test('a reading in feet, inches and eighths is marked and kept in hundredths', async () => {
  await press(page, 'Rod on BM1');
  await press(page, 'ft in 1/8');
  await key(page, '3 8 5');
  assert.equal(await page.locator('#hi-result').textContent(), '103.72');
});

test('readings that cannot be are refused with a sentence, and can be mended', async () => {
  await press(page, 'Rod on BM2');
  for (const [typed, says] of [['27.5', /27\.50 is past the end of a 25 ft rod/], ['-0.5', /cannot read below zero/], ['3..7', /is not a reading/], ['', /Nothing is typed/], ['five', /is not a reading/]]) {
    await page.locator('#entry input').fill(typed);
    await press(page, /^OK$/);
    assert.match(await page.locator('.refused').textContent(), says);
    assert.equal(await page.locator('#entry input').inputValue(), typed);
  }
  await page.locator('#entry input').fill('');
  await key(page, '25');
  assert.equal(await page.locator('#hi-result').textContent(), '140.16');
  assert.equal(await page.evaluate(() => Record.state.setups.length), 1);
  await press(page, 'Done');
  assert.match(await page.locator('.grades').innerText(), /bed bottom[\s\S]*27\.63: past the end of the rod, set up lower/);
});

test('a comma is a point, and what is typed finer than the rod is read is kept in hundredths', async () => {
  await press(page, 'Rod on BM2');
  await page.locator('#entry input').fill('5,164');
  await press(page, /^OK$/);
  assert.equal(await page.evaluate(() => Record.setup().rod), 5.16);
  await press(page, 'Done');
  assert.match(await page.locator('#screen').innerText(), /120\.32[\s\S]*BM2 with the rod at 5\.16/);
});

test('taking back takes a figure with the blank behind it; elevations are typed in decimals', async () => {
  await press(page, 'Rod on BM2');
  await press(page, 'ft in 1/8');
  for (const label of ['3', 'next: inches, then eighths', '8', 'next: inches, then eighths', 'take back']) {
    await page.locator(`#entry button[aria-label="${label}"]`).tap();
  }
  assert.equal(await page.locator('#entry input').inputValue(), '3 ');
  await press(page, 'Cancel');
  await page.evaluate(() => Level.askMark());
  assert.equal(await page.locator('.unit').innerText(), 'decimal feet');
  await key(page, '101.5');
  assert.equal(await page.evaluate(() => Record.marks().at(-1).elevation), 101.5);
});

test('lengths of one print have one text in inches', async () => {
  assert.equal(await page.evaluate(() => Parts.tape(3.7249)), '3.72 ft (3 ft 8-5/8 in)');  // 3.7249 alone: 8-3/4
});

// ---- stakes ------------------------------------------------------------------------------------------------------------

test('the rod on a hub gives front, edge and back of its lath', async () => {
  await setUp(page, 'BM2', '5.16');
  await tab(page, 'Stakes');
  await press(page, 'Rod on top of the hub');
  await key(page, '8.05');  // hub at 112.27; bed bottom 112.53
  const sides = await page.locator('#entry .side').allInnerTexts();
  assert.match(sides[0], /1001[\s\S]*bed corner upslope-left hub[\s\S]*1\+00\.0 +U 25\.0/);
  assert.match(sides[1], /F 0\.26\s+to bed bottom/);
  assert.match(sides[2], /lateral invert\s+F 0\.76/);
  assert.match(sides[2], /finished ridge\s+F 2\.59/);
  assert.match(sides[2], /hub 112\.27/);
  assert.ok(!/bed bottom/.test(sides[2]), 'the edge is not written twice');
  await press(page, 'Next: 1002');
  assert.equal(await page.locator('#stake-number').textContent(), '1002');
});

test('a slope stake off its catch point, and a bust, are told', async () => {
  await setUp(page, 'BM2', '5.16');
  await tab(page, 'Stakes');
  await press(page, /^All$/);
  await press(page, '1011');
  await press(page, 'Rod on top of the hub');
  assert.match(await page.locator('#entry .hint').innerText(), /Ground about 111\.53: the rod reads near 8\.79/);
  await key(page, '9.55');  // at 110.77 where the survey has 111.53: 3.59 to the shoulder, 8.48 in at 3:1
  assert.match(await page.locator('#entry').innerText(), /Not at the catch point: for 3:1 move the stake about 2\.\d+ ft .* out/);
  await press(page, 'Read it again');
  await key(page, '8.55');  // at 111.77: 2.59 to the shoulder, 7.77 at 3:1, and the stake stands 8.48 out
  assert.match(await page.locator('#entry').innerText(), /Not at the catch point: for 3:1 move the stake about 0\.7\d ft .* in and/);
  await press(page, 'Read it again');
  await key(page, '8.60');  // 2.64 to the shoulder, 7.92 at 3:1: half a foot is what is let go
  assert.match(await page.locator('#entry').innerText(), /move the stake about 0\.5\d ft .* in and/);
  for (const [rod, off, way] of [['18.79', '10.00', 'lower'], ['9.99', '1.20', 'lower'], ['7.59', '1.20', 'higher']]) {
    await press(page, 'Read it again');
    await key(page, rod);
    const words = await page.locator('#entry').innerText();
    assert.match(words, new RegExp(`The survey has the ground at about 111\\.53 here: this is ${off} ft .* ${way}\\.`));
  }
});

test('grade from a lath with no bench mark in sight', async () => {
  await setUp(page, 'BM2', '5.16');
  await tab(page, 'Stakes');
  await press(page, 'Rod on top of the hub');
  await key(page, '8.05');
  await press(page, 'Done');
  await press(page, 'Rod on this hub');
  await key(page, '5.00');
  assert.match(await page.locator('#entry').innerText(), /4\.74/);
  await press(page, 'Rod on the work');
  await key(page, '5.24');
  assert.match(await page.locator('#from-lath').innerText(), /^Fill 0\.50 ft \(6 in\) more/);
  await press(page, 'Done');
  await press(page, 'Rod on this hub');
  await key(page, '0.10');  // 0.26 to fill
  assert.match(await page.locator('#entry').innerText(), /nothing: above the instrument/);
  assert.equal(await page.locator('button:visible', {hasText: 'Rod on the work'}).count(), 0);
});

test('the list has cut or fill of what is shot, and from the first stake one goes back to the last', async () => {
  await setUp(page, 'BM2', '5.16');
  await tab(page, 'Stakes');
  await press(page, 'Rod on top of the hub');
  await key(page, '8.05');
  await press(page, 'Done');
  await press(page, /^All$/);
  assert.match(await page.locator('.row').first().innerText(), /F 0\.26/);
  await press(page, 'Back');
  const last = tableOf(textOf(fernhollow, 'stakes.csv')).at(-1).point;
  assert.equal(await page.locator('#stake-number').textContent(), last);
});

// ---- stages ------------------------------------------------------------------------------------------------------------

async function openStage(name, check = '20.32') {
  await tab(page, 'Build');
  if (await page.locator('button:visible', {hasText: 'All stages'}).count()) await press(page, 'All stages');
  await press(page, name);
  if (!check) return;
  await press(page, 'Rod on BM1');
  await key(page, check);
  await press(page, 'Done');
}

test('a check shot 0.03 off stops the stage; 0.02 off does not', async () => {
  await setUp(page, 'BM2', '5.16');
  await openStage('Core, to the bed bottom', '20.35');
  assert.match(await page.locator('.stop').innerText(), /STOP: BM1 comes out 0\.03 ft \(3\/8 in\) low[\s\S]*More than 0\.02 off[\s\S]*set up from BM2/);
  assert.equal(await page.locator('.rows button:enabled').count(), 0);
  await tab(page, 'Stakes');  // nor is a hub shot on it
  assert.equal(await page.locator('.stop').count(), 1);
  assert.equal(await page.locator('button:visible', {hasText: 'Rod on top of the hub'}).count(), 0);
  await tab(page, 'Build');
  await press(page, 'Check on BM1 again');
  assert.match(await page.locator('#entry .hint').innerText(), /Should read 20\.32 \(20 ft 3-7\/8 in\)/);
  await key(page, '20.34');
  await press(page, 'Done');
  assert.equal(await page.locator('.stop').count(), 0);
  assert.equal(await page.locator('.rows button:enabled').count(), 7);
});

test('each stage and each set-up wants a check shot of its own', async () => {
  await setUp(page, 'BM2', '5.16');
  await openStage('Core, to the bed bottom');
  await openStage('Stone, top', null);
  assert.equal(await page.locator('.rows button:enabled').count(), 0);
  await tab(page, 'Level');
  await press(page, 'Set up again');
  await press(page, 'Rod on BM2');
  await key(page, '5.20');
  await press(page, 'Done');
  await openStage('Core, to the bed bottom', null);
  assert.equal(await page.locator('.rows button:enabled').count(), 0);
});

test('bed grades pass to 0.05, others to 0.1, and say which way and how much', async () => {
  await setUp(page, 'BM2', '5.16');
  for (const [stage, design, tolerance] of [['Core, to the bed bottom', 112.53, 0.05], ['Shell, top', 113.53, 0.1]]) {
    await openStage(stage);
    await page.locator('.rows button').first().tap();
    for (const [off, pass] of [[tolerance, true], [tolerance + 0.01, false], [-tolerance, true], [-tolerance - 0.01, false], [0, true]]) {
      await key(page, (120.32 - design - off).toFixed(2));
      assert.equal(await page.locator('#verdict').textContent(), pass ? 'PASS' : 'FAIL', `${stage} ${off}`);
      const words = await page.locator('#off').textContent();
      if (off === 0) assert.equal(words, 'ON GRADE');
      else assert.ok(words.startsWith(`${off > 0 ? 'HIGH' : 'LOW'} ${Math.abs(off).toFixed(2)} ft (`), words);
      if (!pass) assert.ok(words.endsWith(off > 0 ? ': cut' : ': fill'), words);
      await press(page, 'Read it again');
    }
    await press(page, 'Cancel');
  }
});

test('the least sand has no minus tolerance', async () => {
  await setUp(page, 'BM2', '5.16');
  await openStage('Prepared ground');
  await page.locator('.rows button').first().tap();
  assert.match(await page.locator('#entry .hint').innerText(), /Should read 9\.29 .* or more/);
  await key(page, '9.28');  // 111.04, and the sand needs it at 111.03 or lower
  assert.equal(await page.locator('#verdict').textContent(), 'FAIL');
  assert.match(await page.locator('#entry').innerText(), /0\.01 ft .*too high[\s\S]*Do not dig it down/);
  await press(page, 'Read it again');
  await key(page, '9.29');
  assert.equal(await page.locator('#verdict').textContent(), 'PASS');
  await press(page, 'Done');
  await openStage('Core, to the bed bottom');
  await page.locator('.rows button').first().tap();
  await key(page, '7.80');  // 112.52: inside 0.05, but the sand is 1.49
  assert.equal(await page.locator('#verdict').textContent(), 'FAIL');
  assert.match(await page.locator('#thin').textContent(), /Sand 1\.49, least 1\.50: 0\.01 ft .* too thin/);
  await press(page, 'Done');
  await openStage('Prepared ground', null);
  assert.match(await page.locator('.rows button').first().innerText(), /PASS\s+sand fits/);
  const prepared = tableOf(await page.evaluate(() => Record.csv())).find((row) => row.stage === 'prepared ground');
  assert.deepEqual([prepared.design, prepared.measured, prepared.difference, prepared.tolerance], ['111.03', '111.03', '0.00', '']);
});

/** A set-up, a check, a hub, a pass and a fail. */
async function someWork() {
  await setUp(page, 'BM2', '5.16');
  await tab(page, 'Stakes');
  await press(page, 'Rod on top of the hub');
  await key(page, '8.05');
  await press(page, 'Done');
  await openStage('Stone, top', '20.31');
  await page.locator('.rows button').first().tap();
  await key(page, '6.78');
  await press(page, 'Next');
  await key(page, '6.90');
  await press(page, 'Done');
}

test('closing the page loses nothing', async () => {
  await someWork();
  const before = await page.evaluate(() => Record.csv());
  page.reloaded = true;
  await page.reload();
  assert.equal(await page.evaluate(() => Record.csv()), before);
  assert.equal(await page.locator('#instrument').textContent(), 'HI 120.32');
  assert.match(await page.locator('#lath').innerText(), /F 0\.26/);
});

test('the export holds what was recorded', async () => {
  await someWork();
  await tab(page, 'Notes');
  const [download] = await Promise.all([page.waitForEvent('download'), press(page, 'Export CSV')]);
  assert.equal(download.suggestedFilename(), 'lot-7-fernhollow-lane-as-built.csv');
  const text = readFileSync(await download.path(), 'utf8');
  assert.ok(text.startsWith('point,stage,northing,easting,design,measured,difference,verdict,time,rod,height_of_instrument,tolerance\r\n'));
  const rows = tableOf(text);
  assert.deepEqual(rows.map((row) => row.verdict), ['pass', 'recorded', 'pass', 'fail']);
  const [check, hub, good, bad] = rows;
  assert.deepEqual([check.point, check.stage, check.design, check.measured, check.difference], ['BM1', 'check shot: stone, top', '100.00', '100.01', '0.01']);
  assert.deepEqual([hub.point, hub.stage, hub.design, hub.measured, hub.rod], ['1001', 'hub', '', '112.27', '8.05']);
  const mark = await page.evaluate(() => Record.job.benchmarks.find((each) => each.name === 'BM1'));
  assert.deepEqual([check.northing, check.easting], [mark.n.toFixed(3), mark.e.toFixed(3)]);
  const stake = tableOf(textOf(fernhollow, 'stakes.csv'))[0];
  assert.deepEqual([hub.northing, hub.easting], [stake.northing, stake.easting]);
  assert.deepEqual([good.point, good.design, good.measured, good.difference], ['upslope edge, left end', '113.53', '113.54', '0.01']);
  assert.deepEqual([bad.difference, bad.height_of_instrument, bad.tolerance, check.tolerance, hub.tolerance], ['-0.11', '120.32', '0.05', '0.02', '']);
  for (const row of rows) assert.ok(Math.abs(Date.parse(row.time) - Date.now()) < 600000, row.time);
  await press(page, 'Show it as text');
  assert.equal(await page.locator('#csv').inputValue(), text.replaceAll('\r\n', '\n'));
});

test('no name makes a formula in the export', async () => {
  const csv = await page.evaluate(() => {
    const shot = {c: true, measured: 100, time: 't', rod: 5, hi: 105, design: 100, off: -0.25, pass: true, tolerance: 0.02};
    for (const mark of ['=1+1', '@SUM(A1,A2)', '-2+3', '-4.5', 'oak']) Record.state.checks.push({...shot, mark, stage: 'core'});
    return Record.csv();
  });
  const starts = csv.split('\r\n').slice(1, 6).map((line) => line.slice(0, line.indexOf(',check shot')));
  assert.deepEqual(starts, ["'=1+1", `"'@SUM(A1,A2)"`, "'-2+3", '-4.5', 'oak']);
  assert.ok(csv.includes(',-0.25,'), 'numbers stay numbers');
});

test('the record is cleared only after asking', async () => {
  await someWork();
  await tab(page, 'Notes');
  await press(page, 'Clear the record');
  await press(page, 'No, keep it');
  assert.match(await page.locator('#counts').textContent(), /1 set-up, 1 check shot, 1 hub, 2 stage shots/);
  await press(page, 'Clear the record');
  await press(page, 'Yes, clear it');
  assert.match(await page.locator('#counts').textContent(), /0 set-ups, 0 check shots, 0 hubs, 0 stage shots/);
  page.reloaded = true;
  await page.reload();
  assert.equal(await page.locator('#instrument').textContent(), 'no HI');
});

test('what is changed under Notes is kept, also when the record is cleared', async () => {
  await tab(page, 'Notes');
  await press(page, 'Tolerance elsewhere');
  await key(page, '0');
  assert.match(await page.locator('.refused').textContent(), /more than zero/);
  await page.locator('#entry input').fill('');
  await key(page, '0.2');
  const limits = () => page.evaluate(() => [Record.state.limits.bed, Record.state.limits.elsewhere]);
  assert.deepEqual(await limits(), [0.05, 0.2]);
  await press(page, 'Clear the record');
  await press(page, 'Yes, clear it');
  assert.deepEqual(await limits(), [0.05, 0.2]);
  page.reloaded = true;
  await page.reload();
  assert.deepEqual(await limits(), [0.05, 0.2]);
});

test('another lot in the phone is none of this one; another window of this one is', async () => {
  await page.evaluate(() => localStorage.setItem('moundwright field record 0', JSON.stringify({title: 'Another lot'})));
  await tab(page, 'Notes');
  assert.doesNotMatch(await page.locator('#screen').innerText(), /also keeps/);
  const other = await openPage(phone, pageIn(fernhollow));
  await setUp(page, 'BM2', '5.16');
  await other.locator('#instrument', {hasText: 'HI 120.32'}).waitFor();
});

// ISO 8601: local time and its distance from UTC. St. John's is 3 h 30 min behind, 2 h 30 min in summer.
test('times are told with their distance from UTC', async () => {
  const there = await startPhone(undefined, {timezoneId: 'America/St_Johns'});
  const time = await (await openPage(there, pageIn(fernhollow))).evaluate(() => Record.now());
  assert.match(time, /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d-0[23]:30$/);
  assert.ok(Math.abs(Date.parse(time) - Date.now()) < 600000, time);
  await there.close();
});

test('another plan of the lot starts a record of its own, and says so', async () => {
  await someWork();
  const changed = packet('fernhollow', (text) => text.replace('least_sand = 1.5', 'least_sand = 1.6'));
  const other = await openPage(phone, pageIn(changed));
  assert.equal(await other.locator('#instrument').textContent(), 'no HI');
  await tab(other, 'Notes');
  assert.match(await other.locator('#screen').innerText(), /also keeps a record made with another plan of this lot/);
  assert.deepEqual(other.faults, []);
});

test('a record that cannot be read is set aside and told', async () => {
  for (const spoilt of ['{"job": ', '[]', '{"job": "another"}', 'null']) {
    await page.evaluate((text) => localStorage.setItem(Record.key, text), spoilt);
    page.reloaded = true;
    await page.reload();
    assert.match(await page.locator('#trouble').textContent(), /cannot be read/);
    assert.equal(await page.locator('#instrument').textContent(), 'no HI');
    await page.evaluate((text) => { if (localStorage.getItem(`${Record.key} unreadable`) !== text) throw Error('lost'); }, spoilt);
  }
});

test('where the phone keeps nothing, the page works and says so', async () => {
  await page.close();
  await phone.addInitScript(() => Object.defineProperty(window, 'localStorage', {get() { throw new DOMException('denied', 'SecurityError'); }}));
  page = await openPage(phone, pageIn(fernhollow));
  assert.match(await page.locator('#trouble').textContent(), /does not let the page keep anything/);
  await setUp(page, 'BM2', '5.16');
  assert.equal(await page.locator('#hi').textContent(), '120.32');
});

test('a full phone is told at the reading that is not kept', async () => {
  await page.evaluate(() => { Storage.prototype.setItem = () => { throw new DOMException('full', 'QuotaExceededError'); }; });
  await setUp(page, 'BM2', '5.16');
  assert.match(await page.locator('#trouble').textContent(), /last reading is not kept/);
});
