"""Bounds and orders of the settings, written down a second time.

A bound that is moved by mistake, or an order that is dropped, differs from this table; a change
that is meant is made here as well. Key, least, most, default ("-": must be given); the second
and third set are as the first, but off.
"""

BOUNDS = """
battery_fitted 0 1 -
pressure_fitted 0 1 -
load_sense_fitted 0 1 -
rain_fitted 0 1 -
button_fitted 0 1 -
frost_fitted 0 1 -
current_fitted 0 1 -
second_relay_fitted 0 1 0
flow_fitted 0 1 0
battery_full_mv 10000 30000 18300
battery_full_trim_mv -800 800 0
battery_offset_mv -2000 2000 0
pressure_zero_count 0 2000 410
pressure_zero_trim_count -60 60 0
pressure_span_count 500 4000 3276
pressure_span_trim_count -200 200 0
pressure_span_kpa 100 1600 1000
frost_zero_count 0 4000 621
frost_mc_per_count -1000 1000 81
current_zero_count 0 4000 0
current_full_ma 1000 100000 30000
pulse_ul 50 1000000 2222
battery_low_band_mv 0 20000 6000
battery_high_band_mv 10000 30000 17500
pressure_low_band_count 0 4000 205
pressure_high_band_count 100 4095 3891
frost_low_band_count 0 4000 100
frost_high_band_count 100 4095 2500
current_high_band_count 100 4095 4000
jump_count 50 4095 1200
stuck_ms 5000 600000 30000
battery_stuck_ms 60000 7200000 1800000
sensor_hold_ms 0 10000 600
normal_pa 1000 1600000 -
normal_mv 6000 14000 -
pressure_pa_per_v 0 400000 0
dead_head_pa 1000 1600000 -
dead_head_hold_ms 0 10000 300
dead_head_tries 0 5 1
rating_pa 1000 1600000 -
rating_hold_ms 0 1000 100
dry_pa 0 1600000 -
dry_hold_ms 0 120000 8000
primed_pa 0 1600000 -
prime_ms 5000 600000 -
dry_tries 0 5 2
retry_rest_s 1 7200 300
dry_night_s 10 600 110
line_open_permille 0 1000 550
line_open_hold_ms 0 600000 10000
no_flow_ms 1000 60000 5000
drift_permille 10 1000 200
cutout_mv 6000 30000 -
cutout_hold_ms 0 600000 10000
reconnect_mv 6000 30000 -
charging_mv 6000 30000 12950
charging_hold_ms 0 600000 60000
floor_mv 5000 30000 -
floor_hold_ms 0 10000 500
over_mv 10000 30000 15200
over_hold_ms 0 10000 1000
stall_sag_mv 100 20000 -
stall_hold_ms 0 10000 2000
stall_ma 1000 100000 25000
resistance_mohm 1 5000 -
resistance_warn_mohm 1 5000 -
resistance_refuse_mohm 1 5000 -
current_zero_ma 0 50000 -
current_ma_per_bar 0 20000 -
capacity_mah 1000 500000 -
reserve_mah 0 500000 2000
charged_mv 6000 30000 -
rest_75_mv 0 30000 0
rest_50_mv 0 30000 0
rest_25_mv 0 30000 0
battery_error_mv 0 1000 0
empty_mv 0 30000 0
held_mv 6000 30000 14000
panel_fitted 0 1 0
board_ua 0 200000 10000
run_max_s 60 14400 5400
starts_max 1 60 8
duty_s 60 14400 7200
duty_permille 10 1000 500
weld_hold_ms 0 10000 1000
open_hold_ms 0 10000 1000
chatter_max 2 100 6
frost_dc -100 150 20
rain_skip_s 0 172800 21600
clock_off_s 5 3600 60
hand_minutes 1 240 15
wet_area_m2 1 10000 -
flow_ml_min 100 200000 -
static_pa -200000 400000 0
set1_unit 0 3 -
set1_start_s 0 86399 79200
set1_amount 0 20000 0
set1_runs 1 8 1
set1_soak_s 0 14400 0
set1_window_s 60 43200 14400
"""

ORDERS = """
dry_pa < primed_pa
primed_pa < normal_pa
normal_pa < dead_head_pa
dead_head_pa < rating_pa
floor_mv < cutout_mv
cutout_mv < reconnect_mv
reconnect_mv < charging_mv
charged_mv < charging_mv
charging_mv < over_mv
over_mv < battery_high_band_mv
battery_low_band_mv < floor_mv
battery_high_band_mv < battery_full_mv
empty_mv < charged_mv
resistance_mohm < resistance_warn_mohm
resistance_warn_mohm < resistance_refuse_mohm
reserve_mah < capacity_mah
pressure_low_band_count < pressure_zero_count
pressure_low_band_count < pressure_high_band_count
frost_low_band_count < frost_high_band_count
static_pa < normal_pa
dry_hold_ms < line_open_hold_ms
"""
