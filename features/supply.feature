Feature: A supply that fails or returns moves nothing that nobody holds

  @HR-090 @HR-091 @HR-092 @HR-093
  Rule: A lost supply sets the brakes, and its return moves nothing
    Scenario Outline: The whole supply is lost while <axis> turns
      Given <axis> rests in mid-travel
      When <axis> turns toward its <end> end at full rate
      And the whole supply is lost
      Then the torque of <axis> is gone in time
      And <axis> stops within its category 0 travel
      And the brakes of <axis> are set within their brake time
      When the supply comes back
      Then <axis> stays where it is with the supply back

      Examples:
        | axis      | end   |
        | azimuth   | lower |
        | elevation | upper |

  @HR-093 @HR-094
  Rule: A lost supply of the drives is told as such, and its return moves nothing
    Scenario: The supply of the drives is lost while elevation turns
      Given elevation rests in mid-travel
      When elevation turns toward its lower end at full rate
      And the supply of the drives is lost
      Then the loss of the supply is reported to the supervisory system within 1 s
      When the supply comes back
      Then elevation stays where it is with the supply back

  @HR-095 @HR-096 @HR-097
  Rule: A supply that is away for longer than the drives ride through ends the motion
    Scenario Outline: The supply of the drives is away for <span> while <axis> turns
      Given <axis> rests in mid-travel
      When <axis> turns toward its <end> end at full rate
      And the supply of the drives is away for <span>
      Then <axis> stops within its category 1 time and travel
      And the supply interruption is reported to the supervisory system within 1 s

      Examples:
        | axis      | end   | span   |
        | azimuth   | upper | 400 ms |
        | elevation | lower | 400 ms |
