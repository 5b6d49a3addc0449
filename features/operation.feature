Feature: An operator's stop leaves the antenna ready to move

  @HR-012 @HR-013
  Rule: An operator's stop ends every motion and keeps the torque
    Scenario Outline: The operator commands a stop while <axis> moves towards its <end> end
      Given <axis> rests in mid-travel
      When <axis> moves towards its <end> end at full rate
      And the operator commands a stop
      Then <axis> stops within its category 2 travel
      And <axis> keeps its torque and stays ready to move

      Examples:
        | axis      | end   |
        | azimuth   | upper |
        | elevation | lower |

  @HR-087
  Rule: Motion continues when the supervisory system falls silent
    Scenario: The supervisory system stops communicating while azimuth moves
      Given azimuth rests in mid-travel
      When azimuth moves towards its upper end at half rate
      And the supervisory system stops communicating
      Then azimuth keeps its commanded rate
