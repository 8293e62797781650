// For a cloud spreadsheet's script editor. In a cell: =LAMP_RESISTOR(9; "red_5mm"; 1; 10; "resistance_ohm")
const SERVICE = "https://lamps.example.org"; // your service; the cloud has to reach it

/**
 * Asks for one figure of a row of lights.
 * @customfunction
 */
function LAMP_RESISTOR(volts, led, inARow, milliamps, pick) {
  const asked = { supply_voltage_v: volts, led: led, series_count: inARow, forward_current_ma: milliamps, pick: pick };
  const query = Object.entries(asked).map(([name, value]) => name + "=" + encodeURIComponent(value)).join("&");
  try {
    const reply = UrlFetchApp.fetch(SERVICE + "/v1/series-resistors?" + query, { muteHttpExceptions: true });
    const text = reply.getContentText();
    if (reply.getResponseCode() !== 200) return "not taken: " + reply.getResponseCode();
    return isNaN(Number(text)) ? text : Number(text);
  } catch (error) {
    return "the service was not reached";
  }
}
