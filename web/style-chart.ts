/** Charts: every mark differs in form as well as in colour. */
export const CHART_STYLE = `
.chart{margin:0;min-width:0}
.chart-title{font-weight:700;font-size:.95rem}
.drawing{display:block;width:100%;height:auto;font-size:12.5px;max-width:56rem}
.drawing.narrow{display:none}
.drawing text{fill:var(--ink);font-family:inherit}
.drawing .tick{fill:var(--muted)}
.grid{stroke:var(--rule);stroke-width:1;fill:none}
.axis{stroke:var(--control);stroke-width:1.2;fill:none}
.since{fill:var(--since)}
.band{fill:var(--band);stroke:var(--band-edge);stroke-width:.8}
.band-edge{stroke:var(--band);stroke-width:6;fill:none}
.expected{fill:none;stroke:var(--band-edge);stroke-width:1.6;stroke-dasharray:5 4}
.spread{fill:none;stroke:var(--muted);stroke-width:1;opacity:.6}
.observed{fill:none;stroke:var(--ink);stroke-width:1.6;stroke-linejoin:round}
.dot{fill:var(--ink)}
.outlier{fill:var(--yellow);stroke:var(--ink);stroke-width:1.3;stroke-linejoin:round}
.limit{fill:none;stroke:var(--red);stroke-width:2.4;stroke-dasharray:12 3 3 3}
.drawing .limit-label,.drawing .mark-label{paint-order:stroke;stroke:var(--ground);stroke-width:3px;stroke-linejoin:round}
.drawing .limit-label{font-weight:700}
.mark{fill:none;stroke:var(--ink);stroke-width:1.2}
.mark.onset{stroke-dasharray:2 3}
.mark.work{stroke-width:2.4}
.drawing .mark-label{font-weight:600;font-size:12px}
.key{display:flex;flex-wrap:wrap;gap:.15rem 1rem;font-size:.88rem;color:var(--muted)}
.key span{display:inline-flex;align-items:center;gap:.35rem}
.key-mark{width:28px;height:14px}
.chart-words{font-size:.92rem;color:var(--muted);margin-top:.25rem}
.values table{font-size:.92rem;min-width:26rem}
@media (max-width:62rem) and (min-width:40.01rem){.task .drawing{max-width:44rem}}
@media (max-width:40rem){.drawing.wide{display:none}.drawing.narrow{display:block}}
@media (min-width:62.01rem){.task .drawing.wide,.aside .drawing.wide{display:none}.task .drawing.narrow,.aside .drawing.narrow{display:block}}
`;
