import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { exampleFinding, HOUR_MS } from '../../alerts/example-for-tests.ts';
import { getTask } from '../../alerts/tasks.ts';
import { LOOKS, launchBrowser, openPage } from './browser.ts';
import { NOW_MS, type PreparedFleet, prepareFleet } from './prepared-fleet.ts';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const DESK = { name: 'desk', width: 1280, height: 900, scheme: 'light' } as const;

let browser: Browser;
let fleet: PreparedFleet;
beforeAll(async () => {
  browser = await launchBrowser();
});
afterAll(async () => {
  await browser.close();
});

/** What axe-core finds wrong under WCAG 2.2 A and AA. */
async function breaches(page: Page): Promise<string[]> {
  await page.evaluate(AXE);
  const found = await page.evaluate(
    `axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] })
       .then(({ violations }) => violations.map(({ id, nodes }) => id + ': ' + nodes.map(({ html }) => html.slice(0, 160)).join(' | ')))`,
  );
  return found as string[];
}

/** Interactive things smaller than 44 by 44 px: WCAG 2.2, 2.5.5, which lets links inside sentences be. */
const SMALL_TARGETS = `[...document.querySelectorAll('a, button, select, summary, textarea, input:not([type=hidden]):not([type=checkbox]), label:has(input[type=checkbox])')]
  .filter((each) => each.getClientRects().length > 0 && !each.matches('p a, .skip, footer a'))
  .map((each) => ({ name: each.outerHTML.slice(0, 90), height: each.getBoundingClientRect().height }))
  .filter(({ height }) => height < 43.5).map(({ name, height }) => name + ' ' + height)`;

describe('looking', () => {
  beforeAll(async () => {
    fleet = await prepareFleet();
  });
  afterAll(async () => {
    await fleet.close();
  });

  test.each(LOOKS)(
    '$name: tasks by urgency, charts and fleet; nothing asked of elsewhere; WCAG 2.2 AA',
    async (look) => {
      const { context, page, requests } = await openPage({ browser, origin: fleet.origin, look });
      const faults: string[] = [];
      page.on('console', (message) => message.type() === 'error' && faults.push(message.text()));
      page.on('pageerror', (error) => faults.push(error.message));
      await page.goto(fleet.origin);
      expect(await page.locator('.tasks h3').allInnerTexts()).toEqual([
        'Quay generator: low oil pressure',
        'Tug, port engine: charge-air temperature rise',
        'Truck 07: boost shortfall',
      ]);
      expect(await page.locator('.task svg.drawing:visible').count()).toBe(3);
      expect(await page.locator('.task svg.drawing:visible .outlier').count()).toBeGreaterThan(5);
      expect(await page.locator('.fleet tbody tr').count()).toBe(5);
      expect(await page.locator('.fleet tbody').textContent()).toContain('No recent data');
      expect(await breaches(page)).toEqual([]);
      expect(await page.evaluate(SMALL_TARGETS)).toEqual([]);

      await page.goto(`${fleet.origin}/tasks/${await fleet.taskOf('quay-generator')}`);
      expect(await page.locator('.caution-box li').count()).toBeGreaterThan(6);
      expect(await breaches(page)).toEqual([]);
      expect(await page.evaluate(SMALL_TARGETS)).toEqual([]);
      expect(requests.filter((url) => !url.startsWith(`${fleet.origin}/`) && !url.startsWith('data:'))).toEqual([]);
      expect(faults).toEqual([]);
      await context.close();
    },
  );

  // WCAG 2.2, 1.4.10: no scrolling in two directions at 320 px.
  test.each(['/', 'task'])('%s fits 320 px without scrolling sideways', async (path) => {
    const { context, page } = await openPage({
      browser,
      origin: fleet.origin,
      look: { ...DESK, width: 320, height: 640 },
    });
    await page.goto(`${fleet.origin}${path === 'task' ? `/tasks/${await fleet.taskOf('tug-port-engine')}` : path}`);
    for (const summary of await page.locator('summary').all()) await summary.click();
    expect(await page.evaluate('document.documentElement.scrollWidth')).toBeLessThanOrEqual(320);
    await context.close();
  });

  test('filters by place and groups by place', async () => {
    const { context, page } = await openPage({ browser, origin: fleet.origin, look: DESK });
    await page.goto(fleet.origin);
    await page.getByLabel('Order').selectOption('place');
    await page.getByLabel('Place', { exact: true }).selectOption('East quay');
    await page.getByRole('button', { name: 'Show' }).click();
    expect(await page.locator('.tasks h3').count()).toBe(2);
    expect(await page.locator('h2.place').textContent()).toContain('East quay');
    await page.getByLabel('State').selectOption('closed');
    await page.getByRole('button', { name: 'Show' }).click();
    expect(await page.locator('main').textContent()).toContain('No task fits this choice.');
    await context.close();
  });

  test('night is chosen on the page, stays, and comes back to the same page', async () => {
    const { context, page } = await openPage({ browser, origin: fleet.origin, look: DESK });
    await page.goto(`${fleet.origin}/?group=place`);
    await page.getByLabel('Colours').selectOption('night');
    await page.getByRole('button', { name: 'Set' }).click();
    expect(page.url()).toBe(`${fleet.origin}/?group=place`);
    expect(await page.evaluate('getComputedStyle(document.body).backgroundColor')).toBe('rgb(0, 0, 0)');
    await context.close();
  });

  test('the keyboard reaches a task, and shows where it is', async () => {
    const { context, page } = await openPage({ browser, origin: fleet.origin, look: DESK });
    await page.goto(fleet.origin);
    await page.keyboard.press('Tab');
    expect(await page.evaluate('document.activeElement.textContent')).toBe('To the content');
    for (let n = 0; n < 30 && !(await page.evaluate("document.activeElement.matches('.task h3 a')")); n += 1) {
      await page.keyboard.press('Tab');
    }
    expect(await page.evaluate('getComputedStyle(document.activeElement).outlineStyle')).toBe('solid');
    await page.keyboard.press('Enter');
    await page.waitForURL(/\/tasks\//);
    await context.close();
  });

  test('prints as a work sheet: cautions and steps stay, forms go', async () => {
    const { context, page } = await openPage({ browser, origin: fleet.origin, look: DESK });
    await page.goto(`${fleet.origin}/tasks/${await fleet.taskOf('truck-07')}`);
    await page.emulateMedia({ media: 'print' });
    expect(await page.locator('form:visible').count()).toBe(0);
    expect(await page.locator('.tick-box:visible').count()).toBeGreaterThan(5);
    expect(await page.locator('.caution-box').isVisible()).toBe(true);
    expect(await page.getByText('Name, signature').isVisible()).toBe(true);
    await context.close();
  });
});

describe.each([
  { name: 'with script', script: true as const },
  { name: 'without script', script: false as const },
])('working, $name', ({ script }) => {
  beforeAll(async () => {
    fleet = await prepareFleet();
  });
  afterAll(async () => {
    await fleet.close();
  });

  test('a planner opens a task, takes it, enters a value, closes it with what was found, and sees it closed and verified', async () => {
    const look = { ...DESK, ...(script ? {} : { script: false as const }) };
    const { context, page } = await openPage({ browser, origin: fleet.origin, look });
    const id = await fleet.taskOf('truck-07');
    await page.goto(fleet.origin);
    await page.getByRole('link', { name: 'Truck 07: boost shortfall' }).click();
    expect(await page.locator('main').textContent()).toContain('boost air leak between cooler and cylinders');

    await page.locator('#take').getByLabel('Your name').fill('A. Fitter');
    await page.getByRole('button', { name: 'Take this task' }).click();
    expect(await page.getByRole('status').textContent()).toContain('yours');
    expect(await page.locator('.counts').textContent()).toContain('Taken by A. Fitter');

    await page.locator('#step-filter_drop summary').click();
    await page.locator('#step-filter_drop').getByLabel('Value, kPa').fill('4,8');
    await page.locator('#step-filter_drop').getByLabel('Engine state').fill('1900 rpm, full load');
    await page.locator('#step-filter_drop').getByRole('button', { name: 'Record' }).click();
    expect(await page.locator('#step-filter_drop').textContent()).toContain('Measured: 4.80 kPa (1900 rpm, full load)');

    // What was entered stays when it cannot be recorded yet.
    const close = page.locator('#close');
    await close.getByLabel('Found').selectOption('boost_leak_after_cooler');
    await close.getByLabel('Note').fill('clamp at the cooler outlet');
    await close.getByRole('button', { name: 'Close this task' }).click();
    expect(await page.getByRole('alert').textContent()).toContain('what was done');
    expect(await close.getByLabel('Note').inputValue()).toBe('clamp at the cooler outlet');
    await close.getByLabel('air or exhaust leak sealed').check();
    await close.getByRole('button', { name: 'Close this task' }).click();
    expect(await page.locator('main').textContent()).toContain('Found: boost air leak between cooler and cylinders.');
    expect(await page.locator('#close').count()).toBe(0);

    const verdicts = [];
    for await (const record of fleet.log.scan({ topic: 'verdicts' })) verdicts.push(record.value);
    expect(verdicts).toMatchObject([
      {
        task: id,
        who: 'A. Fitter',
        found: 'boost_leak_after_cooler',
        work: ['leak_sealed'],
        measurements: [{ value: 4.8 }],
      },
    ]);

    const sinceMs = (await getTask({ log: fleet.log, id }))?.findings[0]?.sinceMs ?? 0;
    await fleet.report([
      exampleFinding({ sinceMs, atMs: sinceMs + 40 * HOUR_MS, updatedAtMs: NOW_MS + 24 * HOUR_MS, state: 'cleared' }),
    ]);
    await page.goto(`${fleet.origin}/?state=closed`);
    expect(await page.locator('.task').textContent()).toContain('Verified');
    await context.close();
  });
});
