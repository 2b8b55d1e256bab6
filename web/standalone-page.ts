import { type Html, html } from './html.ts';
import { STYLE_SHEET } from './style.ts';

/** A page that stands alone: its style is inside it, and it asks nothing of any server. */
export function standalonePage(p: { title: string; zone: string; style?: string; main: Html }): string {
  const style: Html = { markup: `${STYLE_SHEET}${p.style ?? ''}` };
  return html`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>${p.title}</title>
<link rel="icon" href="data:,">
<style>${style}</style>
</head>
<body class="standalone">
<main id="main">
${p.main}
</main>
<footer>Advice, not control: nothing here acts on an engine or replaces its alarms. The engine maker’s limits, local codes and licensed practice come first. Times in ${p.zone}.</footer>
</body>
</html>
`.markup;
}
