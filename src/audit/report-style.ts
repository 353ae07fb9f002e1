/** The printed report: black on white, readable in grey. */
export const CHART_STYLE = `
svg.chart { display: block; width: 100%; height: auto; break-inside: avoid; }
.chart text { font-size: 13px; fill: #333; }
.chart .small { font-size: 11px; fill: #555; }
.chart .grid { stroke: #bbb; stroke-dasharray: 2 4; }
.chart .limit { stroke: #111; stroke-width: 1.5; stroke-dasharray: 8 5; }
.chart .centre { stroke: #111; stroke-width: 1.5; }
.chart .change { stroke: #111; stroke-width: 1.2; }
.chart .spread { stroke: #999; stroke-width: 5; }
.chart .trace { fill: none; stroke: #555; stroke-width: 1.5; }
.chart .point { fill: #fff; stroke: #111; stroke-width: 2.5; }
.chart .outside { fill: #111; }
`;

export const REPORT_STYLE = `
:root { color-scheme: light; }
body { margin: 0 auto; max-width: 60rem; padding: 1rem; font: 16px/1.4 'Noto Sans', 'Liberation Sans', 'Segoe UI', Helvetica, Arial, sans-serif; color: #111; background: #fff; font-variant-numeric: tabular-nums; }
h1 { font-size: 1.5rem; margin: 0 0 0.3rem; }
h2 { font-size: 1.3rem; margin: 1.4rem 0 0.4rem; border-bottom: 3px solid #111; break-after: avoid; }
h3 { font-size: 1.1rem; margin: 1.2rem 0 0.3rem; break-after: avoid; }
h4 { font-size: 0.95rem; margin: 0.8rem 0 0.2rem; break-after: avoid; }
p, ul, table { margin: 0.3rem 0 0.6rem; }
.facts, .cautions { font-size: 0.9rem; padding-left: 1.2rem; }
.definition { font-size: 0.85rem; color: #333; }
.records { font-weight: 600; }
dl.figures { display: grid; grid-template-columns: repeat(auto-fit, minmax(13rem, 1fr)); gap: 0.4rem 1.2rem; margin: 0.4rem 0; }
dl.figures > div { border-top: 2px solid #111; padding-top: 0.25rem; break-inside: avoid; }
dl.figures .wide { grid-column: 1 / -1; }
dt { font-size: 0.85rem; }
dd { margin: 0; }
dd.value { font-size: 1.3rem; font-weight: 700; line-height: 1.2; }
.wide dd.value { font-size: 1.05rem; }
dd.counted { font-size: 0.8rem; color: #333; }
table { width: 100%; border-collapse: collapse; }
caption { text-align: left; font-weight: 600; font-size: 0.95rem; padding: 0.4rem 0 0.1rem; }
th, td { text-align: left; vertical-align: top; padding: 0.15rem 0.7rem 0.15rem 0; border-bottom: 1px solid #ccc; font-size: 0.9rem; }
thead { display: table-header-group; }
tr { break-inside: avoid; }
details { margin: 0.2rem 0 0.8rem; font-size: 0.9rem; }
.reading { font-size: 0.85rem; margin: 0.1rem 0; }
.mark { border: 3px solid #111; padding: 0.1rem 0.6rem; font-weight: 700; display: inline-block; }
.running { font-size: 0.8rem; color: #333; }
@page { size: A4; margin: 13mm 14mm 16mm; @bottom-right { content: 'Page ' counter(page) ' of ' counter(pages); font: 9pt sans-serif; } }
@media print {
  body { max-width: none; padding: 0; font-size: 9pt; line-height: 1.3; }
  dl.figures { grid-template-columns: repeat(3, 1fr); }
  .facts, .cautions { font-size: 8pt; margin: 0.2rem 0; }
  h2 { margin-top: 0.7rem; }
  h3 { margin-top: 0.8rem; }
  .new-page { break-before: page; }
  dd.value { font-size: 12pt; }
  .wide dd.value { font-size: 10pt; }
}
${CHART_STYLE}`;
