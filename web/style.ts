import { PALETTES, paletteProperties } from './palette.ts';
import { CHART_STYLE } from './style-chart.ts';
import { PAGE_STYLE } from './style-page.ts';
import { PRINT_STYLE } from './style-print.ts';

const THEMES = `
:root{${paletteProperties(PALETTES.day)};color-scheme:light}
@media (prefers-color-scheme:dark){:root{${paletteProperties(PALETTES.dark)};color-scheme:dark}}
:root[data-theme=day]{${paletteProperties(PALETTES.day)};color-scheme:light}
:root[data-theme=dark]{${paletteProperties(PALETTES.dark)};color-scheme:dark}
:root[data-theme=night]{${paletteProperties(PALETTES.night)};color-scheme:dark}
`;

/** The one style sheet of the pages: no fonts, pictures or anything else is loaded from elsewhere. */
export const STYLE_SHEET = [THEMES, PAGE_STYLE, CHART_STYLE, PRINT_STYLE].join('\n');
