// For an office suite's script editor: fills columns E and F beside rows of volts, light, in a row, mA.
const SERVICE = "https://lamps.example.org"; // your service; it needs https here
const NAMES = ["supply_voltage_v", "led", "series_count", "forward_current_ma"];

async function one(values: (string | number | boolean)[], pick: string): Promise<string | number> {
  const query = NAMES.map((name, index) => `${name}=${encodeURIComponent(String(values[index]))}`).join("&");
  try {
    const reply = await fetch(`${SERVICE}/v1/series-resistors?${query}&pick=${pick}`);
    const text = await reply.text();
    if (!reply.ok) return `not taken: ${reply.status}`;
    return isNaN(Number(text)) ? `'${text}` : Number(text);
  } catch (error) {
    return "the service was not reached";
  }
}

async function main(workbook: ExcelScript.Workbook) {
  const range = workbook.getSelectedRange();
  const rows = range.getValues();
  for (let row = 0; row < rows.length; row++) {
    range.getCell(row, 4).setValue(await one(rows[row], "resistance_ohm"));
    range.getCell(row, 5).setValue(await one(rows[row], "current_ma"));
  }
}
