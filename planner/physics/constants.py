"""Physical constants, each with its unit and its source."""

STANDARD_GRAVITY = 9.80665  # [m/s²] exact by convention: SI Brochure, 9th ed., 2019
STANDARD_PRESSURE = 101_325.0  # [Pa] absolute: ISO 2533:1975, sea level
REFERENCE_TEMPERATURE = 293.15  # [K] 20 °C: ISO 8778:2003, reference atmosphere
HEAT_CAPACITY_RATIO_AIR = 1.4  # [-] of dry air: U.S. Standard Atmosphere, 1976, sec. 1.3
RIDE_EXPONENT = 1.38  # [-] polytropic exponent of air that moves at ride speed: customary in air-spring data sheets
STOP_GAP = 1e-10  # [m] past the end of a chart its stop begins: a bag held there is off by a tenth of that at the most
STOP_RATE = 1.0e7  # [N/m] bump and droop stop: an axle's load moves it about 1 mm, so no chart is left by more
