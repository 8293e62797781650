#!/bin/sh
# One figure from the shell: the resistor for a red light at 10 mA on 9 V, as plain text.
curl -fsS "${LAMPWRIGHT:-http://127.0.0.1:8350}/v1/series-resistors?supply_voltage_v=9&led=red_5mm&forward_current_ma=10&pick=resistance_ohm"
