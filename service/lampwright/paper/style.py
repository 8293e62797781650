"""The look of the printed sheet: warm paper, dark ink, ruled lines; made for paper first.

Sizes are points: 11 for text, 10 for tables. No page size is named, so A4 and Letter both work; nothing
rests on colour, so it prints in grey. Every rule is scoped to ``.sheet``: the sheet may stand in a page.
"""

STYLE = """
@page{margin:6mm 8mm}
body.paper{margin:0;background:#fbf9f4}
.sheet{--ink:#1f2730;--muted:#55606b;--line:#8b857a;--accent:#7a4300;--card:#fbf9f4;
color:var(--ink);background:var(--card);
font:11pt/1.25 Arial,"Liberation Sans","DejaVu Sans Condensed",system-ui,sans-serif;
font-variant-numeric:tabular-nums;max-width:190mm;margin:0 auto;padding:5mm;overflow-wrap:break-word}
.sheet *{box-sizing:border-box}
.sheet svg{color:var(--ink);display:block;max-width:100%;height:auto}
.sheet h1{font-size:17pt;line-height:1.15;margin:0;min-width:0;overflow-wrap:anywhere}
.sheet h2{font-size:12pt;line-height:1.15;margin:1.2mm 0 .3mm;border-bottom:1.2pt solid var(--ink);
break-after:avoid}
.sheet .titled{line-height:1.12;margin:1.2mm 0 .3mm;border-bottom:1.2pt solid var(--ink);break-after:avoid;
break-inside:avoid}
.sheet .titled h2{display:inline;margin:0 1.5mm 0 0;border:0}
.sheet .titled p{display:inline}
.sheet p{margin:0 0 1mm;max-width:none}
.sheet ul,.sheet ol{margin:0;padding:0;list-style:none}
.sheet .head{display:flex;flex-wrap:wrap;gap:0 6mm;align-items:center;justify-content:space-between}
.sheet .top{display:contents}
.sheet .head .blanks,.sheet .head .key{order:1}
.sheet .head>p{order:2;flex:1 0 100%}
.sheet .blanks{color:var(--muted);font-size:10pt}
.sheet .fill{display:inline-block;min-width:24mm;border-bottom:.8pt solid var(--line)}
.sheet .blanks .fill{min-width:18mm}
.sheet .safe{display:inline-block;font-weight:700;border:1.5pt solid var(--ink);padding:.5mm 2.5mm;
margin:1mm 0}
.sheet .safe.no{background:#9c1c1c;color:#fff;border-color:#9c1c1c}
.sheet .safe.with_care{background:#ffe9b8;color:#3a2a00}
.sheet .key{display:flex;flex-wrap:wrap;gap:0 5mm;margin:0}
.sheet .key div{display:flex;flex-direction:column}
.sheet .key dt{font-size:10pt;color:var(--muted)}
.sheet .key dd{margin:0;font-size:13pt;font-weight:700;line-height:1.2}
.sheet .box{border-left:3pt solid var(--ink);padding:.8mm 2mm;margin:0 0 1mm;break-inside:avoid;
font-size:10.5pt}
.sheet .box.stop{background:#9c1c1c;color:#fff;border-color:#4d0a0a;border-left-width:6pt}
.sheet .box.caution{background:#ffe9b8;color:#3a2a00;border-color:#3a2a00}
.sheet .box.note{background:#dfeef3;color:#16323f;border-color:#16323f}
.sheet .small{font-size:10pt;color:var(--muted);line-height:1.12}
.sheet table{border-collapse:collapse;width:100%;font-size:10pt;line-height:1.08}
.sheet th{text-align:left;font-weight:700;border-bottom:.8pt solid var(--ink);padding:.2mm .8mm .2mm 0;
vertical-align:bottom;overflow-wrap:normal}
.sheet td{border-bottom:.5pt solid var(--line);padding:.18mm 1.2mm 0 0;vertical-align:top}
.sheet tr{break-inside:avoid}
.sheet thead{display:table-header-group}
.sheet td:first-child{font-weight:700;overflow-wrap:normal}
.sheet .wraps td:first-child{white-space:normal}
.sheet .set td:first-child{overflow-wrap:break-word}
.sheet .again{display:none}
.sheet .tick{display:inline-block;width:3.4mm;height:3.4mm;border:.9pt solid var(--ink);
vertical-align:-.5mm;background:#fff}
.sheet .three{display:grid;grid-template-columns:repeat(3,1fr);gap:0 3mm;align-items:start;
break-inside:avoid}
.sheet .set{table-layout:fixed}
.sheet .steps{columns:2;column-gap:3mm;font-size:10pt;line-height:1.08}
.sheet .steps li{break-inside:avoid;display:grid;grid-template-columns:1.4em 1fr 3.6mm;gap:1mm;
margin:0 0 .2mm}
.sheet .steps li>b{text-align:right;white-space:nowrap}
.sheet .steps .gate>b{text-decoration:underline}
.sheet .steps i{font-style:normal;font-weight:700}
.sheet figure{margin:0;break-inside:avoid}
.sheet .bands{display:flex;flex-wrap:wrap;gap:1mm 4mm}
.sheet .bands svg{width:38mm}
.sheet .card{border:1.2pt dashed var(--ink);padding:1mm 3mm;break-inside:avoid;margin-top:2mm}
.sheet .card h2{margin-top:0;border:0}
.sheet h2{break-after:avoid}
.sheet .card dl{display:grid;grid-template-columns:auto 1.3fr auto 1fr;gap:.3mm 3mm;
margin:0;font-size:10.5pt;line-height:1.15}
.sheet .changes{margin:2mm 0}
.sheet .card dt{font-weight:700}
.sheet .card dd{margin:0;border-bottom:.5pt solid var(--line);min-height:4.6mm}
.sheet .carry{display:flex;gap:5mm;align-items:center}
.sheet .carry p{overflow-wrap:anywhere}
.sheet .carry svg{width:46mm;flex:none}
.sheet .twin{white-space:pre-line}
.sheet .new-page{break-before:page}
@media screen and (max-width:46em){
.sheet{padding:3mm;font-size:16px}
.sheet .steps{columns:1}
.sheet .three,.sheet .card dl{grid-template-columns:1fr}
.sheet table,.sheet tbody{display:block}
.sheet thead,.sheet .none,.sheet .blanks,.sheet td:has(.tick){display:none}
.sheet tr{display:flex;flex-wrap:wrap;gap:0 .9em;padding:1.2mm 0;border-bottom:.8pt solid var(--ink)}
.sheet td,.sheet .set td:first-child{border:0;min-width:0;overflow-wrap:anywhere}
.sheet td[data-c]::before{content:attr(data-c) ": ";color:var(--muted);font-weight:400}
.sheet .again{display:block}
.sheet .sideways{overflow-x:auto}
.sheet .sideways svg{width:40em;max-width:none}
.sheet .sideways::before{content:"Wider than the screen: move it sideways.";position:sticky;left:0;
font-size:15px;color:var(--muted)}
.sheet .carry{flex-wrap:wrap}
.sheet .carry p{flex:1 1 16em}
}
@media print{
body.paper{background:none}
.sheet{padding:0;max-width:none;background:none}
.sheet .screen{display:none}
.sheet svg{color:#000}
.sheet .wiring svg{max-height:244mm;width:152mm;margin:0 auto}
}
"""
