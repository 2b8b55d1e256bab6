import { type Browser, type BrowserContext, chromium, type Page } from 'playwright-core';

const EXECUTABLE = process.env['CHROMIUM'] ?? '/usr/bin/chromium';

/** A real Chromium without a window; fails when none is installed at `CHROMIUM` or `/usr/bin/chromium`. */
export function launchBrowser(): Promise<Browser> {
  return chromium.launch({
    executablePath: EXECUTABLE,
    args: [
      '--headless',
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  });
}

/** How a reader looks at the pages. */
export type Look = {
  readonly name: string;
  readonly width: number;
  readonly height: number;
  readonly scheme: 'light' | 'dark';
  readonly theme?: 'night';
  readonly script?: false;
};

/** Desk and telephone, in daylight, in the dark, and on a dark bridge. */
export const LOOKS: readonly Look[] = [
  { name: 'desk, day', width: 1280, height: 900, scheme: 'light' },
  { name: 'desk, dark', width: 1280, height: 900, scheme: 'dark' },
  { name: 'desk, night', width: 1280, height: 900, scheme: 'light', theme: 'night' },
  { name: 'telephone, day', width: 390, height: 844, scheme: 'light' },
  { name: 'telephone, dark', width: 390, height: 844, scheme: 'dark' },
  { name: 'telephone, night', width: 390, height: 844, scheme: 'light', theme: 'night' },
];

/** A page for one look, with the addresses of all requests that it made. */
export async function openPage(p: {
  browser: Browser;
  origin: string;
  look: Look;
}): Promise<{ context: BrowserContext; page: Page; requests: string[] }> {
  const { look } = p;
  const context = await p.browser.newContext({
    viewport: { width: look.width, height: look.height },
    colorScheme: look.scheme,
    javaScriptEnabled: look.script ?? true,
  });
  if (look.theme !== undefined) await context.addCookies([{ name: 'theme', value: look.theme, url: p.origin }]);
  const page = await context.newPage();
  const requests: string[] = [];
  page.on('request', (request) => requests.push(request.url()));
  return { context, page, requests };
}
