Feature: A stop that is asked for leaves the antenna ready to go on

  @HR-012 @HR-013
  Rule: The operator's stop ends every motion and keeps the torque
    Scenario Outline: The operator stops the antenna while <axis> turns toward its <end> end
      Given <axis> rests in mid-travel
      When <axis> turns toward its <end> end at full rate
      And the operator stops the antenna
      Then <axis> stops within its category 2 travel
      And <axis> keeps its torque and is ready to go on

      Examples:
        | axis      | end   |
        | azimuth   | upper |
        | elevation | lower |

  @HR-087
  Rule: A management side that falls silent stops nothing
    Scenario: It falls silent while azimuth turns
      Given azimuth rests in mid-travel
      When azimuth turns toward its upper end at half rate
      And the management side falls silent
      Then azimuth goes on as it was told
