"""What the program leaves out, said plainly: a reader must know it before leaning on a result."""

from __future__ import annotations

NOT_MODELLED: tuple[tuple[str, str], ...] = (
    ("Humidity", "Density altitude is that of dry air; saturated air at 30 °C is worth some 500 ft more."),
    ("Cloud", "One layer at each place and hour, with base and top; layers above it are not seen. Stations report no "
              "cloud types, so thickness and icing are assumptions."),
    ("Icing", "Nobody measured it: a share of the cloud between 0 and -20 °C is taken to ice, and held against "
              "ceilings and temperatures on record, not against reports of ice. It serves to compare aircraft and no "
              "more: where ice is on a given day, only forecasts, reports and the flight manual tell."),
    ("Weather at fuel stops", "Ceilings and visibility are looked at for departure, destination, alternate and, under "
                              "visual rules, the way; not at the stops in between."),
    ("Wind against weather", "Winds aloft and surface weather are simulated apart: no front turns both at once."),
    ("Climate", "Surface weather comes from one typical year a station of 1976 to 2005, widened by a seasonal effect; "
                "no trend, no record years."),
    ("Traffic and airspace", "No routes of air traffic control, slots, restricted or controlled airspace, temporary "
                             "closures or opening hours; a routing allowance stands for detours."),
    ("Visual flight", "A visual pilot looks ahead at a few points of one way and turns back, lands short, waits or "
                      "goes another hour or day; low weather is gone round by 30 nm to either side, no farther."),
    ("Obstacles", "Terrain is a grid of highest samples; masts, wires and departure procedures are not in it. Runways "
                  "count as level and dry unless the study says otherwise."),
    ("Open water", "What of a flight with one engine lies beyond gliding distance of land is told, for sea and great "
                   "lakes, in still air, at the level of a calm day; no way is chosen by it, and no trip put off "
                   "unless the pilot sets `open_water_nm`. Bays, sounds and other lakes count as land; nothing is told "
                   "of diversions, nor south of 24 degrees."),
    ("Fuel on sale", "Fuel and approaches at airports are assumed by runway class where the study does not "
                     "say; a diesel is taken to find jet fuel wherever gasoline is sold."),
    ("Deferred faults", "A fault flown with until the next shop visit costs money then; what the aircraft cannot do "
                        "meanwhile is not taken away."),
    ("Moved trips", "An earlier day is chosen on the forecast half a day before the trip's own. A trip that may be "
                    "moved is moved whatever that costs, unless it costs more than an optional trip is worth."),
    ("Loads that do not fit", "Oxygen is never left behind; seats taken out for freight cost no time. Who does not fit "
                              "goes by car with a share of the bags; a single leg leaves nobody behind. Of two runs "
                              "both leave within the trip's hours, bags can be parted as one likes, and the flight "
                              "back between them is planned in still air."),
    ("Minutes on the ground", "Taxiing, fuel stops and approaches are drawn for a pilot and field; the fuel they burn "
                              "and where stops lie stay those of the usual minutes."),
    ("Renting", "Whether a school lets an aircraft to a pilot of so many hours is not asked; ask it."),
    ("Local flying", "It waits for a day on which the aircraft is free, not for weather, and its pleasure has no value "
                     "in dollars. Instrument currency (six approaches in six months) is not counted."),
    ("Wish lists", "Each trip of a wish list is as likely to be wanted as any other, and trips nobody thought of are "
                   "not added."),
    ("Substitute travel", "A trip not made is priced as a car or airline journey by distance; schedules and seats are "
                          "not looked up."),
    ("People", "No passenger refuses a bumpy ride; skill, fatigue beyond duty limits and the wish to get home are not "
               "in it."),
    ("Safety", "No accident, no engine failure and no difference in risk between aircraft is counted or priced."),
    ("Claims", "A year bears what is expected of the insurer's deductible; what a claim does to later premiums, and "
               "the loss of the whole aircraft, are left out."),
    ("Second engine", "Each engine of a twin has its own hours and luck, both propellers one; a failed one ends no "
                      "flight and saves none. Climb and ceiling on one engine and accelerate-stop are told by "
                      "`check`, not flown."),
    ("Market value", "What a buyer counts for an engine's age is our guess; a value held at the most such aircraft "
                     "bring is not drawn, and a price under the usual is no gain at the sale. In a members' fund, "
                     "turbochargers and propellers have their usual lives."),
    ("Aerodynamics", "Propeller efficiency is one figure; cowl flaps, trim and centre of gravity do not change speed."),
)
"""Subject and what is left out."""
