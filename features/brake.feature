Feature: Brakes are believed only when they are seen, and never driven against

  @HR-073 @HR-074 @HR-076
  Rule: A brake that is seen set in motion ends the motion of every axis
    Scenario Outline: Brake <number> of <axis> drags in motion
      Given <axis> rests in mid-travel
      When <axis> turns toward its <end> end at half rate
      And brake <number> of <axis> drags with half of its torque and is seen set
      Then <axis> stops within its category 1 time
      And the torque of every axis is gone within the monitored ramp time
      And the brake feedback fault is reported to the supervisory system within 1 s

      Examples:
        | axis      | number | end   |
        | azimuth   | 1      | upper |
        | elevation | 2      | lower |

    Scenario Outline: The feedback of brake <number> of <axis> says set while the brake is released
      Given <axis> rests in mid-travel
      When <axis> turns toward its <end> end at full rate
      And the feedback of brake <number> of <axis> says set
      Then <axis> stops within its category 1 time
      And the torque of every axis is gone within the monitored ramp time
      And the brake feedback fault is reported to the supervisory system within 1 s

      Examples:
        | axis      | number | end   |
        | azimuth   | 2      | lower |
        | elevation | 1      | upper |

  @HR-077
  Rule: Torque is kept until both brakes of an axis are seen set
    Scenario Outline: <axis> is put to rest and brake <number> is not seen to set
      Given <axis> rests in mid-travel
      And the feedback of brake <number> of <axis> is stuck at released
      When <axis> turns toward its upper end at half rate
      And <axis> is put to rest
      Then <axis> keeps its torque as long as a brake is not seen set

      Examples:
        | axis      | number |
        | azimuth   | 2      |
        | elevation | 1      |
