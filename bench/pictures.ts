// Takes the README's pictures from the served demonstration: `npm start`, then in another terminal
// `npm run -s bench -- pictures http://127.0.0.1:8473`. Chromium at CHROMIUM or /usr/bin/chromium.
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { launchBrowser, openPage } from '../test/browser/browser.ts';

const origin = process.argv[2] ?? 'http://127.0.0.1:8473';
const folder = join(process.cwd(), 'web', 'pictures', '/');
mkdirSync(folder, { recursive: true });
const browser = await launchBrowser();
try {
  const desk = await openPage({ browser, origin, look: { name: 'desk', width: 1180, height: 1330, scheme: 'light' } });
  await desk.page.goto(origin);
  await desk.page.screenshot({ path: `${folder}planner.png` });
  const first = await desk.page.locator('a[href^="/tasks/"]').first().getAttribute('href');
  const telephone = await openPage({
    browser,
    origin,
    look: { name: 'telephone', width: 390, height: 1500, scheme: 'light' },
  });
  await telephone.page.goto(`${origin}${first ?? '/'}`);
  await telephone.page.screenshot({ path: `${folder}task-phone.png` });
  console.log(`pictures of ${origin} and ${first} in ${folder}`);
} finally {
  await browser.close();
}
