Feature: A drive that trips, falls silent or is left alone stops its axis

  @HR-050 @HR-051 @HR-052 @HR-053
  Rule: When one motor of a pair trips, its partner lets go
    Scenario Outline: Drive <number> of <axis> trips at full rate
      Given <axis> rests in mid-travel
      When <axis> turns toward its upper end at full rate
      And drive <number> of <axis> trips
      Then its partner lets go within the partner time
      And <axis> stops within its category 0 travel
      And the brakes of <axis> are set within their brake time
      And the drive trip is reported to the supervisory system within 1 s

      @smoke
      Examples:
        | axis      | number |
        | azimuth   | 1      |

      Examples:
        | axis      | number |
        | azimuth   | 2      |
        | elevation | 1      |
        | elevation | 2      |

  @HR-054 @HR-055 @HR-056
  Rule: A silent drive loses its enable, and its axis comes to rest
    Scenario Outline: Drive <number> of <axis> falls silent at full rate
      Given <axis> rests in mid-travel
      When <axis> turns toward its upper end at full rate
      And drive <number> of <axis> falls silent
      Then the torque of <axis> is gone in time
      And <axis> stops within its category 0 travel
      And the loss of communication with a drive is reported to the supervisory system within 1 s

      Examples:
        | axis      | number |
        | azimuth   | 1      |
        | elevation | 2      |

  @HR-057 @HR-058 @HR-059 @HR-060
  Rule: A controller that dies in motion is outlived by the drives and the interlock unit
    Scenario Outline: The controller loses its power while <axis> turns
      Given <axis> rests in mid-travel
      When <axis> turns toward its upper end at full rate
      And the controller loses its power
      Then <axis> stops within its category 1 time
      And the torque of every axis is gone within the monitored ramp time
      And the brakes of <axis> are set within their brake time
      When the controller comes back
      Then <axis> stays where it is after the return

      Examples:
        | axis      |
        | azimuth   |
        | elevation |

  @HR-061 @HR-062
  Rule: A drive that runs away is switched off
    Scenario Outline: Drive 1 of <axis> pulls at its peak torque whatever it is told
      Given <axis> rests in mid-travel
      When <axis> turns toward its upper end at a quarter of full rate
      And drive 1 of <axis> runs away
      Then the torque of <axis> is gone in time

      Examples:
        | axis      |
        | azimuth   |
        | elevation |

  @HR-063 @HR-064 @HR-067
  Rule: A motor whose speed is not told truly is switched off with its partner
    Scenario Outline: The speed of motor <number> of <axis> <lie>
      Given <axis> rests in mid-travel
      When <axis> turns toward its upper end at half rate
      And the speed of motor <number> of <axis> <lie>
      Then the torque of <axis> is gone in time
      And <axis> stops within its category 0 travel
      And the uncontrolled motion is reported to the supervisory system within 1 s

      Examples:
        | axis      | number | lie              |
        | azimuth   | 1      | reads nought     |
        | elevation | 2      | reads nought     |
        | azimuth   | 2      | changes its sign |
        | elevation | 1      | changes its sign |

  @HR-047
  Rule: A motor wired the wrong way round is found at the first motion
    Scenario Outline: Motor <number> of <axis> is wired the wrong way round after an exchange
      Given <axis> rests in mid-travel
      And motor <number> of <axis> is wired the wrong way round
      When <axis> is sent toward its upper end at full rate
      Then <axis> is stopped within a small travel of its first motion

      Examples:
        | axis      | number |
        | azimuth   | 1      |
        | elevation | 2      |
