// A phone for the tests: headless Chromium at phone size, on pages that the program itself writes.
import {execFileSync} from 'node:child_process';
import {cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync} from 'node:fs';
import {tmpdir} from 'node:os';
import {join} from 'node:path';
import {pathToFileURL} from 'node:url';
import {chromium} from 'playwright-core';

const needed = (name) => {
  if (!process.env[name]) throw new Error(`set ${name}; ctest does`);
  return process.env[name];
};
const command = needed('MOUNDWRIGHT_COMMAND');
const surveys = needed('MOUNDWRIGHT_SURVEYS');
const scratch = mkdtempSync(join(tmpdir(), 'moundwright-browser-'));

/** Builds a demo job, changed by `edit` (text to text), into a folder of its own; gives the folder. */
export function packet(name, edit = (text) => text) {
  const folder = mkdtempSync(join(scratch, `${name}-`));
  cpSync(surveys, folder, {recursive: true});
  const job = join(folder, `${name}.toml`);
  writeFileSync(job, edit(readFileSync(job, 'utf8')));
  try {
    execFileSync(command, ['build', job, '-o', join(folder, 'packet')], {stdio: 'pipe'});
  } catch (error) {
    if (error.status !== 3) throw new Error(`${error.stdout}${error.stderr}`);  // 3: written, the plan fails a check
  }
  return join(folder, 'packet');
}

export const pageIn = (folder) => pathToFileURL(join(folder, 'field.html')).href;
export const textOf = (folder, file) => readFileSync(join(folder, file), 'utf8');

/** One CSV line into fields. */
function fields(line) {
  return [...line.matchAll(/(?:^|,)("(?:[^"]|"")*"|[^,]*)/g)]
    .map(([, field]) => (field.startsWith('"') ? field.slice(1, -1).replaceAll('""', '"') : field));
}
/** A CSV file's rows, by column name. */
export function tableOf(text) {
  const [head, ...rows] = text.trim().split(/\r?\n/).map(fields);
  return rows.map((row) => Object.fromEntries(head.map((name, i) => [name, row[i]])));
}

/** Starts a phone with nothing kept in it; `more` is what else playwright is told of it, such as its time zone. */
export async function startPhone(size = {width: 360, height: 740}, more = {}) {
  const context = await chromium.launchPersistentContext(mkdtempSync(join(scratch, 'profile-')), {
    executablePath: process.env.CHROMIUM || '/usr/bin/chromium',
    headless: true,
    viewport: size,
    deviceScaleFactor: 2,
    hasTouch: true,
    acceptDownloads: true,
    ...more,
    args: ['--headless', '--no-sandbox', '--use-gl=angle', '--use-angle=swiftshader', '--enable-unsafe-swiftshader',
      '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'],
  });
  context.setDefaultTimeout(20000);
  return context;
}

/** Opens a page and collects what must not happen: errors, and requests that leave the file. */
export async function openPage(context, address) {
  const page = await context.newPage();
  page.faults = [];
  page.requests = [];
  page.on('pageerror', (error) => page.faults.push(error.message));
  page.on('console', (message) => { if (message.type() === 'error') page.faults.push(message.text()); });
  page.on('request', (request) => page.requests.push(request.url()));
  await page.goto(address);
  return page;
}

export const tab = (page, label) => page.locator('#tabs button', {hasText: label}).tap();
export const press = (page, text) => page.locator('button:visible', {hasText: text}).first().tap();

/** Taps a reading in on the page's own keys, then OK. */
export async function key(page, reading) {
  for (const digit of reading) {
    const label = digit === '.' ? 'point' : digit === ' ' ? 'next: inches, then eighths' : digit;
    await page.locator(`#entry button[aria-label="${label}"]`).tap();
  }
  await page.locator('#entry button', {hasText: /^OK$/}).tap();
}

/** Sets up on a bench mark, and leaves the sheet. */
export async function setUp(page, mark, rod) {
  await tab(page, 'Level');
  await press(page, `Rod on ${mark}`);
  await key(page, rod);
  await press(page, 'Done');
}

export function cleanUp() {
  rmSync(scratch, {recursive: true, force: true});
}
