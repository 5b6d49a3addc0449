Feature: Stops keep their limits with one worn, late or dragging brake or swapped switches

  A latent fault shows only when something else happens: each scenario combines one with a stop
  cause.

  @HR-020 @HR-021 @HR-022
  Rule: The emergency stop keeps its limits with one faulty brake
    Scenario Outline: Brake <number> of <axis> engages late after an emergency stop
      Given <axis> rests in mid-travel
      And brake <number> of <axis> engages late by 200 ms
      When <axis> moves towards its <end> end at full rate
      And the emergency stop is pressed
      Then <axis> stops within its category 1 time and travel
      And the torque of every axis is removed by the end of the monitored ramp time

      Examples:
        | axis      | number | end   |
        | azimuth   | 1      | upper |
        | elevation | 2      | lower |

    Scenario Outline: Brake <number> of <axis> is worn and the emergency stop is pressed
      Given <axis> rests in mid-travel
      And brake <number> of <axis> is worn to half of its torque
      When <axis> moves towards its <end> end at full rate
      And the emergency stop is pressed
      Then <axis> stops within its category 1 time and travel
      And the torque of every axis is removed by the end of the monitored ramp time

      Examples:
        | axis      | number | end   |
        | azimuth   | 2      | lower |
        | elevation | 1      | upper |

    Scenario Outline: Brake <number> of <axis> drags and the emergency stop is pressed
      Given <axis> rests in mid-travel
      And brake <number> of <axis> drags with a tenth of its torque
      When <axis> moves towards its <end> end at full rate
      And the emergency stop is pressed
      Then <axis> stops within its category 1 time and travel
      And the torque of every axis is removed by the end of the monitored ramp time

      Examples:
        | axis      | number | end   |
        | azimuth   | 1      | lower |
        | elevation | 2      | upper |

    Scenario Outline: The feedback of brake <number> of <axis> is stuck at released and the emergency stop is pressed
      Given <axis> rests in mid-travel
      And the feedback of brake <number> of <axis> is stuck at released
      When <axis> moves towards its <end> end at full rate
      And the emergency stop is pressed
      Then <axis> stops within its category 1 time and travel
      And the torque of every axis is removed by the end of the monitored ramp time

      Examples:
        | axis      | number | end   |
        | azimuth   | 2      | upper |
        | elevation | 1      | lower |

  @HR-001
  Rule: With its pre-limit switches swapped, an axis still stays inside its software limit
    Scenario Outline: The pre-limit switches of <axis> are swapped and it is commanded past its <end> software limit
      Given <axis> rests <distance> inside its <end> software limit
      And the pre-limit switches of <axis> are swapped
      When <axis> is commanded outward at full rate
      Then <axis> comes to rest inside its <end> software limit

      Examples:
        | axis      | end   | distance |
        | azimuth   | upper | 8 deg    |
        | elevation | lower | 6 deg    |
