Feature: Failure and return of the supply cause no uncontrolled motion

  @HR-090 @HR-091 @HR-092 @HR-093
  Rule: Loss of the whole supply sets the brakes, and its return causes no motion
    Scenario Outline: The whole supply is lost while <axis> moves
      Given <axis> rests in mid-travel
      When <axis> moves towards its <end> end at full rate
      And the whole supply is lost
      Then the torque of <axis> is removed within its torque-off time
      And <axis> stops within its category 0 travel
      And the brakes of <axis> are set within their brake time

      Examples:
        | axis      | end   |
        | azimuth   | lower |
        | elevation | upper |

    Scenario Outline: The whole supply returns after it was lost while <axis> moved
      Given <axis> rests in mid-travel
      When <axis> moves towards its <end> end at full rate
      And the whole supply is lost
      And <axis> has reached standstill without torque
      And the supply returns
      Then <axis> stays at rest after the supply has returned

      Examples:
        | axis      | end   |
        | azimuth   | lower |
        | elevation | upper |

  @HR-093 @HR-094
  Rule: Loss of the supply of the drives is reported, and its return causes no motion
    Scenario: The supply of the drives is lost while elevation moves
      Given elevation rests in mid-travel
      When elevation moves towards its lower end at full rate
      And the supply of the drives is lost
      Then the loss of the supply is reported to the supervisory system within 1 s

    Scenario: The supply of the drives returns after it was lost while elevation moved
      Given elevation rests in mid-travel
      When elevation moves towards its lower end at full rate
      And the supply of the drives is lost
      And elevation has reached standstill without torque
      And the supply returns
      Then elevation stays at rest after the supply has returned

  @HR-095 @HR-096 @HR-097
  Rule: An interruption longer than the ride-through of the drives stops the motion
    Scenario Outline: The supply of the drives is interrupted for <span> while <axis> moves
      Given <axis> rests in mid-travel
      When <axis> moves towards its <end> end at full rate
      And the supply of the drives is interrupted for <span>
      Then <axis> stops within its category 1 time and travel
      And the supply interruption is reported to the supervisory system within 1 s

      Examples:
        | axis      | end   | span   |
        | azimuth   | upper | 400 ms |
        | elevation | lower | 400 ms |
