Feature: No motion without a true position

  @HR-040 @HR-041 @HR-042
  Rule: Loss of position feedback stops the axis
    Scenario Outline: The encoder of <axis> stops responding at full rate
      Given <axis> rests in mid-travel
      When <axis> moves towards its <end> end at full rate
      And the encoder of <axis> stops responding
      Then <axis> stops within its category 1 time
      And the torque of <axis> is removed within its torque-off time
      And the loss of position feedback is reported to the supervisory system within 1 s

      Examples:
        | axis      | end   |
        | azimuth   | upper |
        | elevation | lower |

    Scenario Outline: The encoder of <axis> raises its alarm while its position stays plausible
      Given <axis> rests in mid-travel
      When <axis> moves towards its <end> end at full rate
      And the encoder of <axis> raises its alarm
      Then <axis> stops within its category 1 time
      And the loss of position feedback is reported to the supervisory system within 1 s

      Examples:
        | axis      | end   |
        | azimuth   | lower |
        | elevation | upper |

  @HR-043 @HR-044 @HR-045 @HR-046
  Rule: Implausible position feedback is detected by comparison with the motors
    Scenario Outline: The encoder of <axis> <error> at full rate
      Given <axis> rests in mid-travel
      When <axis> moves towards its upper end at full rate
      And the encoder of <axis> <error>
      Then <axis> stops within its category 1 time
      And the implausible position feedback is reported to the supervisory system within 1 s

      Examples:
        | axis      | error               |
        | azimuth   | freezes             |
        | elevation | freezes             |
        | azimuth   | jumps by 5 deg      |
        | elevation | jumps by 5 deg      |
        | azimuth   | drifts at 0.8 deg/s |
        | elevation | drifts at 0.8 deg/s |

    Scenario Outline: The encoder of <axis> counts in reverse after a replacement
      Given <axis> rests in mid-travel
      And the encoder of <axis> counts in reverse
      When <axis> is commanded towards its upper end at full rate
      Then <axis> stops within a travel no longer than the distance from its pre-limit to its final limit
      And the implausible position feedback is reported to the supervisory system within 1 s

      Examples:
        | axis      |
        | azimuth   |
        | elevation |
