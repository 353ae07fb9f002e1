/** Style of the printable note: black on white, readable in grey; the head of the sheet repeats on every page. */
export const NOTE_STYLE = `
:root { color-scheme: light; }
body { margin: 0 auto; max-width: 60rem; padding: 1rem; font: 16px/1.4 'Noto Sans', 'Liberation Sans', 'Segoe UI', Helvetica, Arial, sans-serif; color: #111; background: #fff; font-variant-numeric: tabular-nums; }
h1 { font-size: 1.5rem; margin: 0.5rem 0; }
h2 { font-size: 1.15rem; margin: 1.4rem 0 0.4rem; border-bottom: 2px solid #111; break-after: avoid; }
p, ul, dl, table { margin: 0.3rem 0 0.6rem; }
ul { padding-left: 1.2rem; }
li, dl > div, tr { break-inside: avoid; }
table { width: 100%; border-collapse: collapse; }
.sheet { margin: 0; }
.sheet > thead td, .sheet > tbody > tr > td { padding: 0; border: 0; }
.sheet > tbody > tr { break-inside: auto; }
.running { font-size: 0.8rem; border-bottom: 1px solid #777; padding-bottom: 0.2rem; margin-bottom: 0.5rem; display: flex; justify-content: space-between; gap: 1rem; }
.data th, .data td { text-align: left; vertical-align: top; padding: 0.2rem 0.5rem 0.2rem 0; border-bottom: 1px solid #bbb; overflow-wrap: break-word; }
.data td:last-child { overflow-wrap: anywhere; min-width: 6em; }
.data th { font-size: 0.85em; }
.data thead { display: table-header-group; }
dl > div { display: grid; grid-template-columns: minmax(12rem, 32%) 1fr; gap: 0.6rem; border-bottom: 1px solid #ddd; padding: 0.15rem 0; }
dt { color: #333; }
dd { margin: 0; overflow-wrap: anywhere; }
.remark, .marks { color: #333; font-style: italic; }
.mark { border: 3px solid #111; padding: 0.2rem 0.6rem; font-weight: 700; text-align: center; letter-spacing: 0.03em; }
.across { display: none; }
svg { width: 100%; height: auto; break-inside: avoid; }
footer { margin-top: 1.5rem; border-top: 2px solid #111; font-size: 0.9rem; break-inside: avoid; }
@media screen and (max-width: 40rem) {
  body { padding: 0.5rem; }
  .sheet, .sheet > *, .sheet > * > tr, .sheet > * > tr > td { display: block; }
  .running { flex-wrap: wrap; }
  section { overflow-x: auto; }
  dl > div { grid-template-columns: 1fr; gap: 0; }
}
@page { size: A4; margin: 14mm 14mm 18mm; @bottom-right { content: 'Page ' counter(page) ' of ' counter(pages); font: 9pt sans-serif; } }
@media print {
  body { max-width: none; padding: 0; font-size: 10pt; }
  h2 { margin-top: 1rem; }
  .new-page { break-before: page; }
  .across { display: block; position: fixed; top: 45%; left: 0; right: 0; text-align: center; transform: rotate(-35deg); font-size: 30pt; font-weight: 700; white-space: nowrap; color: #111; opacity: 0.13; }
}
`;
