import { type Html, html } from './html.ts';

/** How a page is coloured: `auto` follows the system between day and dark; night is only ever chosen. */
export const THEMES = ['auto', 'day', 'dark', 'night'] as const;
export type Theme = (typeof THEMES)[number];

const THEME_WORDS: Readonly<Record<Theme, string>> = {
  auto: 'As the device asks',
  day: 'Day',
  dark: 'Dark',
  night: 'Night, dim',
};

/** What every page needs to know. */
export type PageFrame = {
  readonly fleetName: string;
  /** Zone of all times shown, IANA name. */
  readonly zone: string;
  readonly nowMs: number;
  readonly theme: Theme;
  /** Address of the style sheet on this server. */
  readonly styleHref: string;
  /** Path and query of this page, to come back to after a choice of colours. */
  readonly path: string;
};

/** A whole page around its content. */
export function page(frame: PageFrame, p: { title: string; main: Html }): string {
  return html`<!doctype html>
<html lang="en"${frame.theme === 'auto' ? '' : html` data-theme="${frame.theme}"`}>
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>${p.title} – ${frame.fleetName}</title>
<link rel="icon" href="data:,">
<link rel="stylesheet" href="${frame.styleHref}">
</head>
<body>
<a class="skip" href="#main">To the content</a>
<header class="bar">
<a class="home" href="/">${frame.fleetName}</a>
<nav aria-label="Pages"><a href="/">Tasks</a><a href="/#fleet">Fleet</a></nav>
<form method="post" action="/view"><label for="theme">Colours</label><input type="hidden" name="back" value="${frame.path}">
<select id="theme" name="theme">${THEMES.map((theme) => html`<option value="${theme}"${theme === frame.theme && html` selected`}>${THEME_WORDS[theme]}</option>`)}</select><button class="plain">Set</button></form>
</header>
<main id="main">
${p.main}
</main>
<footer>Advice, not control: nothing here acts on an engine or replaces its alarms. The engine maker’s limits, local codes and licensed practice come first. Times in ${frame.zone}.</footer>
</body>
</html>
`.markup;
}
