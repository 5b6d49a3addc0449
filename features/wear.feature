Feature: Worn, late and dragging brakes and swapped switches leave a stop a stop

  What is latent is found by nobody until something else happens: each rule joins one such fault
  with a cause to stop.

  @HR-020 @HR-021 @HR-022
  Rule: The emergency stop ends a motion whatever one brake does
    Scenario Outline: Brake <number> of <axis> closes late
      Given <axis> rests in mid-travel
      And brake <number> of <axis> closes late, by 200 ms
      When <axis> turns toward its <end> end at full rate
      And the emergency stop is pressed
      Then <axis> stops within its category 1 time and travel
      And the torque of every axis is gone within the monitored ramp time

      Examples:
        | axis      | number | end   |
        | azimuth   | 1      | upper |
        | elevation | 2      | lower |

    Scenario Outline: Brake <number> of <axis> is worn
      Given <axis> rests in mid-travel
      And brake <number> of <axis> has half of its torque left
      When <axis> turns toward its <end> end at full rate
      And the emergency stop is pressed
      Then <axis> stops within its category 1 time and travel
      And the torque of every axis is gone within the monitored ramp time

      Examples:
        | axis      | number | end   |
        | azimuth   | 2      | lower |
        | elevation | 1      | upper |

    Scenario Outline: Brake <number> of <axis> drags
      Given <axis> rests in mid-travel
      And brake <number> of <axis> drags with a tenth of its torque
      When <axis> turns toward its <end> end at full rate
      And the emergency stop is pressed
      Then <axis> stops within its category 1 time and travel
      And the torque of every axis is gone within the monitored ramp time

      Examples:
        | axis      | number | end   |
        | azimuth   | 1      | lower |
        | elevation | 2      | upper |

    Scenario Outline: The feedback of brake <number> of <axis> is stuck at released
      Given <axis> rests in mid-travel
      And the feedback of brake <number> of <axis> is stuck at released
      When <axis> turns toward its <end> end at full rate
      And the emergency stop is pressed
      Then <axis> stops within its category 1 time and travel
      And the torque of every axis is gone within the monitored ramp time

      Examples:
        | axis      | number | end   |
        | azimuth   | 2      | upper |
        | elevation | 1      | lower |

  @HR-001
  Rule: With its pre-limit switches swapped an axis still keeps inside its software limit
    Scenario Outline: The pre-limit switches of <axis> are swapped
      Given <axis> rests <distance> inside its <end> software limit
      And the pre-limit switches of <axis> are swapped
      When <axis> is sent outward at full rate
      Then <axis> comes to rest inside its <end> software limit

      Examples:
        | axis      | end   | distance |
        | azimuth   | upper | 8 deg    |
        | elevation | lower | 6 deg    |
