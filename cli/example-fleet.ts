/**
 * A fleet file to begin with: every part once, with a comment that says what it is for. It holds as it stands; a test
 * reads it. Its places, units, engines and limits are invented.
 */
export const EXAMPLE_FLEET = `# The fleet: places, units with their engines, and how their logs are read.
# Check it with: chargeair check --config fleet.yaml
version: 1

fleet:
  name: Example fleet
  # Times are shown in this zone (IANA name). Stored times are always UTC.
  timeZone: Europe/Athens
  # How many false findings you are ready to look at, for 100 units in one week.
  # Fewer means later warnings. Control limits are worked out from it.
  falseFindingsPer100UnitsAndWeek: 1

# Where units are looked after; tasks are grouped by place.
places:
  - id: north-depot
    name: North depot
    kind: depot
  - id: harbour
    name: Harbour, quay 3
    kind: port

# One unit is one engine with its turbocharger and cooler. A ship's two engines are two units.
units:
  - id: truck-07
    name: Truck 07
    kind: road                # road, mobile_plant, vessel, generator
    duty: long_haul           # long_haul, regional, city_bus, tipper, excavator, tug, inland_cargo, ferry, fishing, generator
    place: north-depot
    engine:
      ratedPowerKw: 340
      ratedSpeedRpm: 1800
      idleSpeedRpm: 600
      displacementL: 12.8
      strokes: 4
      charging: single_stage          # single_stage, two_stage, blower_scavenged
      boostControl: variable_geometry # none, wastegate, electronic, variable_geometry
      cooler: air_to_air              # air_to_air, engine_jacket_water, separate_circuit, seawater
    # What the unit's pressure sensors themselves measure against. Boost and oil sensors must say it:
    # a wrong reference is wrong by a whole barometer.
    sensors:
      boostPressure: { reference: absolute }
      oilPressure: { reference: gauge, standardUncertainty: 4 }
    # The engine maker's limits, from the manual of this very engine. Leave out what the manual does not give.
    # The figures below are invented: replace every one of them.
    limits:
      source: Engine manual, section 4.2, revision B
      boostMaxKpa: 260
      chargeAirTemperatureMaxC: 70
      exhaustTemperatureMaxC: 690
      oilPressureMin:         # lowest oil pressure by speed, gauge; between two points a straight line
        - { speedRpm: 600, pressureKpa: 100 }
        - { speedRpm: 1800, pressureKpa: 250 }
      filterPressureDropMaxKpa: 6

  - id: ferry-port-main
    name: Ferry, port main engine
    kind: vessel
    duty: ferry
    place: harbour
    engine:
      ratedPowerKw: 820
      ratedSpeedRpm: 1600
      displacementL: 32
      strokes: 4
      charging: single_stage
      boostControl: none
      cooler: seawater
    sensors:
      boostPressure: { reference: gauge }
    limits:
      source: Engine manual, table 12
      chargeAirTemperatureMaxC: 60
    # Known history makes a cause likelier before any evidence (1 where nothing is said). Optional.
    # priors: { cooler_fouled_water_side: 3 }

# How files are recognised and read: by the one rule whose pattern fits the file's name.
sources:
  # A table with one column a quantity. Columns that are not named are not read.
  - id: truck-logger
    files: "truck-*.csv"      # * stands for any run of characters
    format: csv_wide
    unitColumn: vehicle       # the column that names the unit; or unit: truck-07 when all rows are of one unit
    delimiter: ";"
    decimal: ","
    notAvailable: ["n/a", "---"]
    time:
      column: Time
      format: "DD.MM.YYYY HH:mm:ss" # or iso8601, epoch_seconds, epoch_milliseconds, seconds_since_start
      timeZone: Europe/Athens
    columns:                  # the signals; \`chargeair signals\` lists them all with their units
      engineSpeed: { column: RPM }
      engineLoad: { column: Load }
      boostPressure: { column: Boost, unit: bar, reference: absolute }
      intakeManifoldTemperature: { column: Charge air, unit: degC }
      barometricPressure: { column: Baro, unit: kPa }
      oilPressure: { column: Oil, unit: bar, reference: gauge }

  # A table with one row a reading: time, channel, value.
  - id: ferry-export
    files: "ferry-port-*.csv"
    format: csv_long
    unit: ferry-port-main
    time: { column: timestamp }
    channelColumn: channel
    valueColumn: value
    columns:
      engineSpeed: { column: ME1.speed }
      fuelRate: { column: ME1.fuel, unit: L/h }
      boostPressure: { column: ME1.scavenge air, unit: bar, reference: gauge }
      seaWaterTemperature: { column: SW.temp }

  # A CAN capture as text, one frame a line with its time, of a bus that speaks SAE J1939.
  - id: truck-can
    files: "*.candump"
    format: j1939_candump
    unit: truck-07
    sourceAddress: 0

  # A capture of a vessel's NMEA 2000 bus: messages as lines of text (n2k_frames), or a CAN capture (n2k_candump).
  - id: ferry-bus
    files: "ferry-*.raw"
    format: n2k_frames
    engines: { 0: ferry-port-main } # which unit each engine instance is
    # Which sender is meant where several give one quantity, best first. Optional; \`load\` reports who sends what.
    sensors:
      - { signal: seaWaterTemperature, pgn: 130312, sender: 36 }

  # Signal K deltas, one JSON message a line.
  - id: ferry-deltas
    files: "ferry-*.jsonl"
    format: signalk_delta
    engines: { port: ferry-port-main } # propulsion.port
`;
