"""The shipped single, plain enough for rules on the length of its intake pipe."""

#: The rules know no valve and no exhaust: four generous valves, hardly any exhaust pipe, little
#: overlap; the spark stays, so that nothing but the pipe changes.
PLAIN = (
    "head.intake.n_valves=2",
    "head.intake.valve_diameter=34 mm",
    "head.intake.sheet.flow=28 55 78 92 100 101 L/s",
    "head.intake.port_area_min=12.5 cm2",
    "head.exhaust.n_valves=2",
    "head.exhaust.valve_diameter=29 mm",
    "head.exhaust.sheet.flow=24 45 61 71 76 77 L/s",
    "head.exhaust.port_area_min=10 cm2",
    "head.valvetrain=ohv",
    "cam.intake.durations=256 @ 0.3 mm, 216 @ 1.27 mm",
    "cam.exhaust.durations=256 @ 0.3 mm, 216 @ 1.27 mm",
    "cam.lobe_separation=112",
    "cam.intake_centreline=110",
    "exhaust.primary_lengths=50 mm",
    "spark.mode=schedule",
    "spark.advance=25",
)
