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

  @HR-100
  Rule: After a stop that has been reset, the antenna can be moved again
    Scenario Outline: <axis> is commanded again after drive <number> of it has tripped
      Given <axis> rests in mid-travel
      When <axis> moves towards its upper end at half rate
      And drive <number> of <axis> trips
      And <axis> has reached standstill without torque
      And the reset button is pressed and a reset is commanded
      And <axis> is commanded towards its upper end at half rate
      Then <axis> sets out within its start time

      Examples:
        | axis      | number |
        | azimuth   | 1      |
        | elevation | 2      |

    Scenario: Azimuth is commanded again after an emergency stop has been released
      Given azimuth rests in mid-travel
      When azimuth moves towards its upper end at half rate
      And the emergency stop is pressed
      And azimuth has reached standstill without torque
      And the emergency stop is released
      And the reset button is pressed and a reset is commanded
      And azimuth is commanded towards its lower end at half rate
      Then azimuth sets out within its start time

    Scenario: Elevation is commanded again after the whole supply was lost and has returned
      Given elevation rests in mid-travel
      When elevation moves towards its upper end at half rate
      And the whole supply is lost
      And elevation has reached standstill without torque
      And the supply returns
      And the reset button is pressed and a reset is commanded
      And elevation is commanded towards its upper end at half rate
      Then elevation sets out within its start time

    Scenario: Elevation is commanded again after the mode selector has been turned back to remote
      Given elevation rests in mid-travel
      When elevation moves towards its lower end at half rate
      And the mode selector is turned to local
      And elevation has reached standstill without torque
      And the mode selector is turned to remote
      And the reset button is pressed and a reset is commanded
      And elevation is commanded towards its upper end at half rate
      Then elevation sets out within its start time
