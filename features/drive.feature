Feature: A drive that trips, falls silent or is left alone stops its axis

  Rule: When one motor of a pair trips, its partner lets go
    @smoke
    Scenario Outline: Drive <number> of <axis> trips at full rate
      Given <axis> rests in mid-travel
      When <axis> turns toward its upper end at full rate
      And drive <number> of <axis> trips
      Then the partner of drive <number> of <axis> is off within the partner time
      And <axis> stops within its category 0 travel
      And the brakes of <axis> are set within their brake time
      And the management side is told of the tripped drive within 1 s

      Examples:
        | axis      | number |
        | azimuth   | 1      |
        | azimuth   | 2      |
        | elevation | 1      |
        | elevation | 2      |

  Rule: A silent drive loses its enable and the other axes come to rest
    Scenario Outline: Drive <number> of <axis> falls silent at full rate
      Given <axis> rests in mid-travel
      When <axis> turns toward its upper end at full rate
      And drive <number> of <axis> falls silent
      Then the torque of <axis> is gone within 50 ms of the supervision time
      And <axis> stops within its category 0 travel of the supervision time
      And the management side is told of the silent drive within 1 s of the supervision time

      Examples:
        | axis      | number |
        | azimuth   | 1      |
        | elevation | 2      |

  Rule: A controller that dies in motion is outlived by the drives and the interlock unit
    Scenario Outline: The controller loses its power while <axis> turns
      Given <axis> rests in mid-travel
      When <axis> turns toward its upper end at full rate
      And the controller loses its power
      Then <axis> stops within its category 1 time of the watchdog time
      And the torque of every axis is gone within the monitored ramp time of the watchdog time
      And the brakes of <axis> are set within their brake time
      When the controller comes back
      Then <axis> stays where it is

      Examples:
        | axis      |
        | azimuth   |
        | elevation |

  Rule: A drive that runs away is switched off
    Scenario Outline: Drive 1 of <axis> pulls at its peak torque whatever it is told
      Given <axis> rests in mid-travel
      When <axis> turns toward its upper end at a quarter of full rate
      And drive 1 of <axis> runs away
      Then the torque of <axis> is gone within its runaway time
      And <axis> never passes 115 % of its full rate with torque on for longer than the overspeed time

      Examples:
        | axis      |
        | azimuth   |
        | elevation |
