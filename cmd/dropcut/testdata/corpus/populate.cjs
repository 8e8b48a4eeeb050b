// Books as xlsx-populate makes them.
const Populate = require("xlsx-populate");
const path = require("path");
const data = require(path.join(__dirname, "book.json"));

const charts = [["Tank", "Depth (in)", "Volume (gal)"]];
for (const t of data.Tanks.slice(1)) data.Depths.forEach((d, i) => charts.push([t[1], d, data.Volumes[i]]));

(async () => {
  const wb = await Populate.fromBlankAsync();
  const ws = wb.sheet(0).name("Tanks");
  ws.cell("A1").value(data.Tanks);
  ws.range("A1:G1").style({ bold: true, fill: "ffd966", border: true });
  ws.range("E2:E5").style("numberFormat", "0.000");
  ws.column("C").hidden(true);
  ws.row(4).hidden(true);
  ws.cell("C2").dataValidation({ type: "list", allowBlank: true, formula1: '"US-federal,US-CA"' });
  ws.range("A1:G5").autoFilter();
  ws.cell("F3").formula("E3+10");
  ws.cell("I9").value("signed off by the office");
  wb.addSheet("Charts").cell("A1").value(charts);
  wb.addSheet("Devices").cell("A1").value(data.Devices);
  wb.definedName("Risers", ws.range("E2:E5"));
  await wb.toFileAsync(path.join(process.argv[2], "populate-features.xlsx"));
})();
