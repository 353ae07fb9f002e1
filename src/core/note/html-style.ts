/** Style of the printable note: black on white, readable in grey; the head of the sheet repeats on every page. */
export const NOTE_STYLE = `
:root { color-scheme: light; }
body { margin: 0 auto; max-width: 60rem; padding: 1rem; font: 16px/1.4 'Noto Sans', 'Liberation Sans', 'Segoe UI', Helvetica, Arial, sans-serif; color: #111; background: #fff; font-variant-numeric: tabular-nums; }
h1 { font-size: 1.4rem; margin: 0.3rem 0; }
h2 { font-size: 1.05rem; margin: 0.9rem 0 0.3rem; border-bottom: 2px solid #111; break-after: avoid; }
p, ul, ol, dl, table { margin: 0.2rem 0 0.4rem; }
ul { padding-left: 1.2rem; }
li, dl > div, tr { break-inside: avoid; }
table { width: 100%; border-collapse: collapse; }
.halves { columns: 22rem 2; column-gap: 1.5rem; }
.halves > section { break-inside: avoid; }
.record h2 { position: absolute; clip-path: inset(50%); }
.record dl > div { grid-template-columns: minmax(5.2rem, 12%) 1fr; }
.record dl { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(18rem, 100%), 1fr)); column-gap: 1.5rem; }
.data td:first-child:not(:only-child) { min-width: 1.4em; }
.team .data td:first-child { min-width: 7.5em; }
.manoeuvres .data { table-layout: fixed; }
.manoeuvres .data th:nth-child(1) { width: 3%; }
.manoeuvres .data th:nth-child(2) { width: 20%; }
.manoeuvres .data th:nth-child(3) { width: 11.5%; }
.manoeuvres .data th:nth-child(4) { width: 21%; }
.manoeuvres .data th:nth-child(5) { width: 8.5%; }
.manoeuvres .data th:nth-child(6) { width: 13%; }
.intervals .data td:first-child { min-width: 8em; }
.record .wide { grid-column: 1 / -1; grid-template-columns: 5.2rem 1fr; }
.signatures dl > div { grid-template-columns: minmax(4.5rem, 12.5%) 1fr; }
.manoeuvres dl > div { grid-template-columns: minmax(4.5rem, 18%) 1fr; }
.sheet { margin: 0; table-layout: fixed; }
.sheet > thead td, .sheet > tbody > tr > td { padding: 0; border: 0; }
.sheet > tbody > tr { break-inside: auto; }
.running { font-size: 0.8rem; border-bottom: 1px solid #777; padding-bottom: 0.2rem; margin-bottom: 0.3rem; display: flex; justify-content: space-between; gap: 1rem; }
.data th, .data td { text-align: left; vertical-align: top; padding: 0.1rem 0.5rem 0.1rem 0; border-bottom: 1px solid #bbb; overflow-wrap: anywhere; }
.data th { font-size: 0.85em; overflow-wrap: normal; }
.data thead { display: table-header-group; }
dl > div { display: grid; grid-template-columns: minmax(4.5rem, 36%) 1fr; gap: 0.4rem; border-bottom: 1px solid #ddd; padding: 0.05rem 0; }
dt { color: #333; }
dd { margin: 0; overflow-wrap: anywhere; }
.log { padding: 0; list-style: none; columns: 24rem 2; column-gap: 1.5rem; }
.log li { display: grid; grid-template-columns: 1.6rem auto auto 1fr; gap: 0.5rem; border-bottom: 1px solid #ddd; overflow-wrap: anywhere; }
.remark, .marks { color: #333; font-style: italic; }
.mark { border: 3px solid #111; padding: 0.1rem 0.6rem; margin: 0 0 0.2rem; font-weight: 700; text-align: center; letter-spacing: 0.03em; }
.across { display: none; }
footer { margin-top: 0.6rem; border-top: 2px solid #111; font-size: 0.85rem; break-inside: avoid; }
@media screen and (max-width: 48rem) {
  body { padding: 0.5rem; }
  .sheet, .sheet > *, .sheet > * > tr, .sheet > * > tr > td { display: block; }
  .running { flex-wrap: wrap; }
  dl > div { grid-template-columns: 1fr; gap: 0; }
  .data, .data > *, .data > * > tr { display: block; }
  .data thead { display: none; }
  .data td { display: inline-block; border: 0; }
  .data tr { border-bottom: 1px solid #bbb; }
}
@page { size: A4; margin: 8mm 12mm 12mm; @bottom-right { content: 'Page ' counter(page) ' of ' counter(pages); font: 8pt sans-serif; } }
@media print {
  body { max-width: none; padding: 0; font-size: 8.5pt; line-height: 1.22; }
  .manoeuvres .data { font-size: 8pt; line-height: 1.15; }
  .halves { columns: 2; }
  .not-recorded, .log, .halves, .record, .signatures { font-size: 8pt; }
  .manoeuvres .data, .manoeuvres .data th { font-size: 7.8pt; }
  .manoeuvres .data td { padding-right: 1mm; }
  .record h2 { position: absolute; clip-path: inset(50%); }
.record dl > div { grid-template-columns: minmax(4rem, 12%) 1fr; }
.record dl { grid-template-columns: 1fr 1fr; }
  h1 { font-size: 13pt; margin: 0 0 1mm; }
  h2 { font-size: 9.5pt; margin: 1.2mm 0 0.4mm; border-bottom-width: 1px; }
  p, ul, ol, dl, table { margin: 0 0 0.6mm; }
  .running { font-size: 7.5pt; }
  .log { columns: 2; }
  footer { font-size: 7.5pt; margin-top: 1.5mm; }
  .across { display: block; position: fixed; top: 45%; left: 0; right: 0; text-align: center; transform: rotate(-35deg); font-size: 30pt; font-weight: 700; white-space: nowrap; color: #111; opacity: 0.13; }
}
`;
