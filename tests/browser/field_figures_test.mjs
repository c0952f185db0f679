// Every figure that the field page shows, stake by stake and stage by stage, against the other files of the packet.
import assert from 'node:assert/strict';
import {after, test} from 'node:test';
import {cleanUp, key, openPage, packet, pageIn, press, startPhone, tab, tableOf, textOf} from './phone.mjs';

after(cleanUp);

/** Set up from the first mark with the rod at this, high enough to see every grade. */
const rodOnMark = {fernhollow: '20.32', ridgeback: '5.00'};

const decimals = (text) => [...text.matchAll(/-?\d+\.\d+/g)].map(([number]) => Number(number));
/** "6 ft 10-1/8 in" in feet. */
function inFeet(text) {
  const [, feet, inches, top, bottom] = text.match(/(\d+) ft (\d+)(?:-(\d)\/(\d))? in/);
  return Number(feet) + (Number(inches) + (top ? top / bottom : 0)) / 12;
}
const near = (found, wanted, within, what) => assert.ok(Math.abs(found - wanted) <= within + 1e-6, `${what}: ${found}, not ${wanted}`);
/** What is shown in decimal feet, and the same in feet, inches and eighths. */
function both(text, wanted, what) {
  near(decimals(text)[0], wanted, 0.005, what);
  near(inFeet(text), wanted, 1 / 16 / 12 + 0.005, what);
}
/** "F 2.35", "C 0.10", as it goes on a lath. */
function cutOrFill(text, hub, design, what) {
  const fill = design - hub, [, letter, size] = text.match(/\b([CF]) (\d+\.\d+)/) || [];
  assert.ok(letter || Math.abs(fill) < 0.006, `${what}: ${text}`);
  if (letter) near((letter === 'C' ? -1 : 1) * Number(size), fill, 0.0051, what);
}

for (const name of ['fernhollow', 'ridgeback']) {
  test(`${name}: every figure on the page is the packet's`, {timeout: 300000}, async () => {
    const folder = packet(name), phone = await startPhone(), page = await openPage(phone, pageIn(folder));
    const summary = JSON.parse(textOf(folder, 'summary.json')), stakes = tableOf(textOf(folder, 'stakes.csv'));
    const data = JSON.parse(await page.locator('#job').textContent());
    const ties = Object.keys(stakes[0]).filter((column) => column.startsWith('tie '));
    const bottom = summary.bed.bottom_elevation;

    await press(page, 'Rod on BM1');
    await key(page, rodOnMark[name]);
    await press(page, 'Done');
    const hi = Number(await page.locator('#hi').textContent());
    near(hi, data.benchmarks[0].elevation + Number(rodOnMark[name]), 0.001, 'HI');

    // ---- the card -------------------------------------------------------------------------------------------------
    const rows = await page.locator('.grades tr').allInnerTexts();
    assert.equal(rows.length, summary.grades.length);
    summary.grades.toReversed().forEach((grade, i) => {
      assert.ok(rows[i].startsWith(grade.name), rows[i]);
      const [elevation, ...rod] = decimals(rows[i]);
      near(elevation, grade.elevation, 0.005, grade.name);
      if (hi > grade.elevation) both(rows[i].slice(rows[i].indexOf(elevation.toFixed(2)) + 6), hi - grade.elevation, `rod at ${grade.name}`);
      else near(rod[0], grade.elevation - hi, 0.005, `${grade.name} above the instrument`);
    });

    // ---- every stake, its hub shot at the same rod ------------------------------------------------------------------
    await tab(page, 'Stakes');
    for (const stake of stakes) {
      const what = `stake ${stake.point}`, edge = stake.elevation ? Number(stake.elevation) : bottom;
      const screen = await page.locator('#screen').innerText();
      assert.equal(await page.locator('#stake-number').textContent(), stake.point);
      for (const text of [stake.description, stake.station, stake.offset, `N ${stake.northing}`, `E ${stake.easting}`]) {
        assert.ok(screen.includes(text), `${what}: ${text} is not on the screen`);
      }
      const taped = await page.locator('.grades tr').allInnerTexts();
      assert.equal(taped.length, ties.length, what);
      ties.forEach((tie, i) => both(taped[i].replace(tie.slice(4), ''), Number(stake[tie]), `${what}, ${tie}`));
      if (hi > edge) both(await page.locator('#stake-rod').innerText(), hi - edge, `${what}, rod at its edge`);

      await press(page, 'Rod on top of the hub');
      await key(page, '9.00');
      const hub = hi - 9, [front, marked, back] = await page.locator('#entry .side').allInnerTexts();
      for (const text of [stake.point, stake.description, stake.station, stake.offset]) assert.ok(front.includes(text), `${what}: ${front}`);
      cutOrFill(marked, hub, edge, `${what}, edge`);
      if (stake.to_shoulder) both(marked.slice(marked.indexOf('bed:')), Number(stake.to_shoulder), `${what}, shoulder`);
      const others = summary.grades.filter((grade) => Math.abs(grade.elevation - edge) > 0.005);
      const written = await page.locator('#entry .back tr').allInnerTexts();
      assert.deepEqual(written.map((row) => row.split('\t')[0].trim()), others.map((grade) => grade.name), what);
      others.forEach((grade, i) => cutOrFill(written[i].slice(grade.name.length), hub, grade.elevation, `${what}, ${grade.name}`));
      near(decimals(back).at(-1), hub, 0.005, `${what}, hub`);
      await press(page, stake === stakes.at(-1) ? 'Done' : 'Next: ');
    }

    // ---- what proves it square --------------------------------------------------------------------------------------
    await tab(page, 'Plan');
    const taped = (await page.locator('.grades tr').allInnerTexts()).slice(ties.length);
    assert.equal(taped.length, summary.taped.length);
    for (const check of summary.taped) {
      const row = taped.find((text) => text.startsWith(`${check.what}\t`) || text.startsWith(`${check.what}\n`));
      assert.ok(row, check.what);
      both(row.slice(check.what.length), check.distance, check.what);
    }

    // ---- every stage ------------------------------------------------------------------------------------------------
    await tab(page, 'Build');
    for (const stage of data.stages) {
      await press(page, new RegExp(`^${stage.name}(\\d+ of|\\s)`, 'i'));
      const points = await page.locator('.rows .row').allInnerTexts();
      assert.equal(points.length, stage.points.length, stage.name);
      stage.points.forEach((point, i) => {
        assert.ok(points[i].startsWith(point.name), points[i]);
        const asked = point.design ?? point.highest;
        if (asked !== undefined && hi > asked) both(points[i].slice(point.name.length), hi - asked, `${stage.name}, ${point.name}`);
      });
      await press(page, 'All stages');
    }
    assert.deepEqual(page.faults, []);
    await phone.close();
  });
}
