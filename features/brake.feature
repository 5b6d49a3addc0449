Feature: Brake feedback is supervised, and no axis is driven against a brake

  @HR-073 @HR-074 @HR-076
  Rule: A brake reported set while its axis moves stops every axis
    Scenario Outline: Brake <number> of <axis> drags while the axis moves towards its <end> end
      Given <axis> rests in mid-travel
      When <axis> moves towards its <end> end at half rate
      And brake <number> of <axis> drags with half of its torque and is reported set
      Then <axis> stops within its category 1 time
      And the torque of every axis is removed by the end of the monitored ramp time
      And the brake feedback fault is reported to the supervisory system within 1 s

      Examples:
        | axis      | number | end   |
        | azimuth   | 1      | upper |
        | elevation | 2      | lower |

    Scenario Outline: Brake <number> of <axis> is falsely reported set while the axis moves towards its <end> end
      Given <axis> rests in mid-travel
      When <axis> moves towards its <end> end at full rate
      And brake <number> of <axis> is falsely reported set
      Then <axis> stops within its category 1 time
      And the torque of every axis is removed by the end of the monitored ramp time
      And the brake feedback fault is reported to the supervisory system within 1 s

      Examples:
        | axis      | number | end   |
        | azimuth   | 2      | lower |
        | elevation | 1      | upper |

  @HR-077
  Rule: Torque is kept until both brakes of an axis are reported set
    Scenario Outline: Brake <number> of <axis> is never reported set when the axis is commanded to rest
      Given <axis> rests in mid-travel
      And the feedback of brake <number> of <axis> is stuck at released
      When <axis> moves towards its upper end at half rate
      And <axis> is commanded to rest on its brakes
      Then <axis> keeps its torque until both brakes are reported set

      Examples:
        | axis      | number |
        | azimuth   | 2      |
        | elevation | 1      |
