/** Layout and lettering of the pages. Sizes in rem, so the reader's own letter size is kept; targets are 44 px. */
export const PAGE_STYLE = `
*{box-sizing:border-box}
html{font:100%/1.5 system-ui,-apple-system,"Segoe UI",Roboto,"Noto Sans",sans-serif;-webkit-text-size-adjust:100%}
body{margin:0;background:var(--ground);color:var(--ink);font-variant-numeric:tabular-nums;overflow-wrap:break-word}
a{color:var(--link);text-underline-offset:.18em}
:focus-visible{outline:3px solid var(--link);outline-offset:2px;border-radius:2px}
h1,h2,h3{line-height:1.2;margin:0;font-weight:700}
h1{font-size:1.75rem;letter-spacing:-.01em}
h2{font-size:1.25rem}
h3{font-size:1.06rem}
p{margin:0}
.skip{position:absolute;left:-999px}
.skip:focus{left:.5rem;top:.5rem;background:var(--ground);padding:.75rem;z-index:2}
.bar{display:flex;flex-wrap:wrap;gap:.25rem 1.5rem;align-items:center;padding:.4rem max(1rem,calc((100% - 74rem)/2));border-bottom:3px solid var(--ink)}
.bar .home{font-weight:800;font-size:1.06rem;text-decoration:none;color:var(--ink);min-height:44px;display:inline-flex;align-items:center}
.bar nav{display:flex;gap:.25rem}
.bar nav a{min-height:44px;display:inline-flex;align-items:center;padding:0 .6rem}
.bar form{margin-left:auto;display:flex;gap:.4rem;align-items:center}
main{max-width:76rem;margin:0 auto;padding:1.25rem 1rem 4rem}
footer{max-width:76rem;margin:0 auto;padding:1rem;border-top:1px solid var(--rule);color:var(--muted);font-size:.9rem}
.quiet{color:var(--muted)}
.lead{margin-top:.25rem;color:var(--muted)}
.mark-word{display:inline-flex;align-items:center;gap:.45rem;font-weight:700}
.shape{width:1.25rem;height:1.25rem;flex:none;overflow:visible}
.shape .body{stroke:var(--ink);stroke-width:1.2;stroke-linejoin:round}
.shape .inner{fill:none;stroke:var(--shape-ink);stroke-width:2;stroke-linecap:round;stroke-linejoin:round}
.shape.red .body{fill:var(--red)}.shape.yellow .body{fill:var(--yellow)}.shape.green .body{fill:var(--green)}
.shape.blue .body{fill:var(--blue)}.shape.white .body{fill:var(--white)}
.shape.red .inner,.shape.green .inner{stroke:var(--ground)}
button,.button,select,input[type=text],input[type=number],textarea{font:inherit;min-height:44px;border-radius:4px}
button,.button{background:var(--button);color:var(--button-ink);border:2px solid var(--button);padding:0 1.1rem;font-weight:700;cursor:pointer;display:inline-flex;align-items:center;text-decoration:none}
button.plain,.button.plain{background:var(--ground);color:var(--ink);border-color:var(--control)}
select,input[type=text],input[type=number],textarea{width:100%;background:var(--ground);color:var(--ink);border:2px solid var(--control);padding:.35rem .6rem}
textarea{min-height:6rem}
label,legend{font-weight:600}
.field{display:grid;gap:.25rem;min-width:0}
.field .hint{color:var(--muted);font-size:.92rem}
fieldset{border:1px solid var(--rule);border-radius:4px;padding:.5rem 1rem .75rem;margin:0;min-width:0}
.ticks{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(18rem,100%),1fr));gap:0 1rem}
.ticks label{display:flex;gap:.7rem;align-items:center;min-height:44px;font-weight:400}
.ticks input{width:1.4rem;height:1.4rem;flex:none;accent-color:var(--button)}
.filter{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(9rem,100%),1fr));gap:.75rem;align-items:end;margin:1rem 0;padding:.85rem;background:var(--panel);border-radius:6px}
.filter .go{display:flex;gap:.5rem;flex-wrap:wrap}
.counts{display:flex;flex-wrap:wrap;gap:.35rem 1.75rem;margin:1rem 0 0;padding:0;list-style:none}
.counts li{display:inline-flex;gap:.5rem;align-items:center}
.counts b{font-size:1.5rem;line-height:1}
.place{margin-top:2rem;padding-bottom:.35rem;border-bottom:1px solid var(--rule);display:flex;flex-wrap:wrap;gap:.25rem 1rem;align-items:baseline}
.tasks{list-style:none;margin:0;padding:0}
.task{position:relative;display:grid;grid-template-columns:11.5rem minmax(0,1fr) minmax(0,26rem);gap:.75rem 1.5rem;padding:1.25rem 0 1.25rem 1.25rem;border-bottom:1px solid var(--rule)}
.task::before{content:"";position:absolute;left:0;top:1.1rem;bottom:1.1rem;width:6px;border-radius:3px;background:var(--rule)}
.task.high::before{background:var(--red)}.task.medium::before{background:var(--yellow)}
.task .chart-words{display:none}
.task .when{display:grid;gap:.2rem;align-content:start}
.task .when .big{font-size:1.25rem;font-weight:800;line-height:1.15}
.task .what{display:grid;gap:.45rem;align-content:start;min-width:0}
.task h3{font-size:1.2rem}
.task h3 a{display:inline-block;padding:.65rem 0;margin:-.65rem 0}
.facts{display:flex;flex-wrap:wrap;gap:.1rem 1rem;color:var(--muted)}
.cause{font-weight:700}
section .chart{margin-top:.9rem}
.panel{background:var(--panel);border-radius:6px;padding:1rem;margin-top:1rem}
.panel h2{margin-bottom:.5rem}
.sheet{display:grid;grid-template-columns:minmax(0,1fr) minmax(0,24rem);gap:0 2.5rem;align-items:start}
.sheet>*{min-width:0}
section{margin-top:2rem}
section>h2{padding-bottom:.3rem;border-bottom:2px solid var(--ink);margin-bottom:.6rem}
.causes{list-style:none;padding:0;margin:.5rem 0}
.causes li{display:grid;grid-template-columns:minmax(0,1fr) auto;gap:.1rem .75rem;padding:.35rem 0}
.causes svg{grid-column:1/-1;width:100%;height:8px}
.causes .track{fill:var(--rule)}.causes .part{fill:var(--band-edge)}
.cautions{padding-left:1.2rem;margin:.4rem 0;display:grid;gap:.35rem}
.caution-box{border:3px solid var(--ink);border-left-width:12px;border-left-color:var(--yellow);border-radius:4px;padding:.75rem 1rem}
.steps{list-style:none;margin:0;padding:0}
.steps>li{padding:.9rem 0;border-bottom:1px solid var(--rule);display:grid;grid-template-columns:2.4rem minmax(0,1fr);gap:.25rem .5rem}
.steps>li>*{grid-column:2}
.steps .number{grid-column:1;grid-row:1;font-weight:800;font-size:1.1rem}
.steps .detail{color:var(--muted);font-size:.95rem}
.steps .detail b{color:var(--ink);font-weight:600}
.steps .care{font-size:.95rem;margin:.35rem 0;padding:.1rem 0 .1rem .8rem;border-left:4px solid var(--yellow);list-style:none;display:grid;gap:.2rem}
.tag{display:inline-block;border:1px solid var(--control);border-radius:3px;padding:0 .4rem;font-size:.85rem;font-weight:600;color:var(--muted)}
.stage{margin-top:1.4rem;color:var(--muted);font-size:.95rem;font-weight:700}
.done-values{font-weight:700}
details>summary{min-height:44px;display:flex;align-items:center;gap:.5rem;cursor:pointer;color:var(--link);font-weight:600;list-style:none}
details>summary::-webkit-details-marker{display:none}
details>summary::before{content:"+";font-weight:800;width:1rem}
details[open]>summary::before{content:"\\2212"}
.inline-form{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(9rem,100%),1fr));gap:.6rem;align-items:end;padding:.25rem 0 .75rem}
.stack{display:grid;gap:.9rem}
.message{border:3px solid var(--ink);border-radius:4px;padding:.75rem 1rem;margin-top:1rem}
.message.wrong{border-left:12px solid var(--red)}
.message.done{border-left:12px solid var(--green)}
.wrong-field{border-left:6px solid var(--red);padding-left:.7rem}
.wrong-field .why{font-weight:700}
table{border-collapse:collapse;width:100%;text-align:left}
caption{text-align:left;color:var(--muted);padding:.3rem 0}
th,td{padding:.5rem .75rem .5rem 0;border-bottom:1px solid var(--rule);vertical-align:top}
thead th{border-bottom:2px solid var(--ink);font-size:.92rem}
tbody th{font-weight:600}
tbody th .quiet{font-weight:400}
.scroller{overflow-x:auto;max-width:100%}
.history{padding:0;margin:0;list-style:none}
.history li{padding:.45rem 0;border-bottom:1px solid var(--rule)}
.print-only{display:none}
.tall a{min-height:44px;display:inline-flex;align-items:center}
@media (max-width:62rem){
.task{grid-template-columns:10rem minmax(0,1fr)}.task .chart{grid-column:1/-1}
.sheet{grid-template-columns:minmax(0,1fr)}
}
@media (max-width:40rem){
h1{font-size:1.5rem}
.bar form{margin-left:0;width:100%}
.bar form label{position:absolute;clip-path:inset(50%);width:1px;height:1px;overflow:hidden;white-space:nowrap}
.task{grid-template-columns:minmax(0,1fr)}
.task .when{grid-template-columns:auto auto;justify-content:space-between;align-items:baseline}
.task .when .exact{grid-column:1/-1}
.fleet thead{position:absolute;clip-path:inset(50%);width:1px;height:1px;overflow:hidden}
.fleet tr{display:grid;grid-template-columns:minmax(0,1fr);padding:.75rem 0;border-bottom:1px solid var(--rule)}
.fleet th,.fleet td{border:0;padding:.1rem 0}
.fleet td[data-label]::before{content:attr(data-label) ": ";color:var(--muted)}
}
@media (prefers-reduced-motion:no-preference){html{scroll-behavior:smooth}}
`;
