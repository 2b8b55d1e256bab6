import { PALETTES, paletteProperties } from './palette.ts';

/** The work sheet on paper: black on white, boxes to tick, lines to write on, nothing that only a screen can do. */
export const PRINT_STYLE = `
@media print{
@page{margin:14mm 12mm 16mm}
:root,:root[data-theme]{${paletteProperties(PALETTES.day)};color-scheme:light}
html{font-size:10.5pt}
.bar,.skip,.screen-only,footer,details.values,.message{display:none}
main{max-width:none;padding:0}
.print-only{display:block}
.task{display:block}
.sheet{display:flex;flex-direction:column}
.sheet>div{display:contents}
.sheet section{order:4}.sheet section[aria-labelledby=why]{order:1}.sheet section[aria-labelledby=causes-head]{order:2}
.sheet section[aria-labelledby=before]{order:3}.sheet .print-only{order:5}.sheet section[aria-labelledby=history-head]{order:6}
section{margin-top:6mm}
.panel,.caution-box{background:none;border:1.5pt solid #000}
.caution-box li,.causes li{break-inside:avoid}
.steps>li,.chart,.history li{break-inside:avoid}
h2,h3,.stage{break-after:avoid}
.steps>li{padding:.4rem 0;grid-template-columns:3.4rem minmax(0,1fr)}
.steps .number{white-space:nowrap}.steps .number .print-only{display:inline-block}
.tick-box{display:inline-block;width:4.2mm;height:4.2mm;border:1pt solid #000;margin-right:2mm;vertical-align:-.6mm}
.write-line{display:inline-block;border-bottom:.8pt solid #000;min-width:38mm}
.sheet .print-only h2{margin-top:6mm}
.write-line.long{display:block;height:8mm}
.sign{display:flex;gap:10mm;margin-top:8mm}
.drawing.wide{display:block!important;max-width:150mm}
.drawing.narrow{display:none!important}
a{color:inherit;text-decoration:none}
}
`;
