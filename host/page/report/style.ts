/** Black on white, so that a copier loses nothing; sized for one sheet of A4. */
export const reportStyle = `
@page { size: A4 portrait; margin: 7mm 10mm; }
* { box-sizing: border-box; }
html { font: 6.7pt/1.17 "Liberation Sans", Arial, Helvetica, sans-serif; color: #000; background: #fff; }
body { margin: 0 auto; max-width: 190mm; }
h1 { font-size: 13pt; margin: 0 0 1mm; }
h2 { font-size: 8.4pt; margin: 0 0 .6mm; border-bottom: .3mm solid #000; break-after: avoid; }
p { margin: 0 0 .8mm; }
ul { margin: 0; padding-left: 3.2mm; }
section { margin: 0 0 1.2mm; break-inside: avoid; }
.two { display: grid; grid-template-columns: 1fr 1fr; column-gap: 5mm; }
table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums; }
th, td { text-align: right; font-weight: normal; padding: 0 .6mm; vertical-align: top; }
td { white-space: nowrap; }
th[scope=row], th:first-child { text-align: left; }
thead th { border-bottom: .2mm solid #000; font-weight: bold; vertical-align: bottom; }
.words td { text-align: left; white-space: normal; }
.tight th[scope=row] { white-space: nowrap; }
.words th { width: 32%; }
.simulated { border: 1mm double #000; font-size: 18pt; line-height: 1; font-weight: bold; letter-spacing: .2em; text-align: center; margin: 0 0 1.5mm; padding: .6mm; }
.simulated small { display: block; font-size: 7.4pt; font-weight: normal; letter-spacing: 0; }
.fault { border: .5mm solid #000; padding: .8mm; }
svg { width: 100%; height: auto; display: block; }
svg text { font: 8px "Liberation Sans", Arial, Helvetica, sans-serif; }
.columns ul { columns: 2; column-gap: 5mm; }
.sign { display: grid; grid-template-columns: 2fr 1fr 2fr 1fr; column-gap: 4mm; margin-top: 4mm; }
.sign span { border-top: .2mm solid #000; }
code { font-family: "Liberation Mono", monospace; font-size: 6.6pt; overflow-wrap: anywhere; }
@media screen { body { padding: 8mm; font-size: 8pt; } }
`;
