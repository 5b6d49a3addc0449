Feature: Whatever the antenna is doing, every stop cause stops it, holds it and lets it go on

  The rows come from the cause table and the list of activities: `haltmark coverage` prints which
  combinations are tried, which need --full, and which cannot be.

  @HR-102 @HR-030 @HR-100
  Rule: A stop cause that is latched stops the axis, keeps it at rest until the reset, and does so again
    Scenario Outline: <stop cause>, with <axis> <activity> towards its <end> end
      Given everything is prepared for <axis> <activity> towards its <end> end
      When <axis> is <activity> towards its <end> end
      And <stop cause>
      Then <axis> stops as its stop cause requires
      When <axis> has reached standstill without torque
      And <axis> is commanded towards its <end> end at full rate
      Then <axis> stays at rest until its stop is reset
      When everything is put right and the mode selector is at remote
      And the reset button is pressed and a reset is commanded
      Then <axis> stays at rest after its stop is reset
      When <axis> is commanded towards its <end> end at half rate
      Then <axis> sets out within its start time
      When <axis> moves towards its <end> end at half rate
      And <second cause>
      Then <axis> stops as its stop cause requires

      Examples: the stop matrix, causes that come again
        | stop cause | axis | activity | end | second cause |

  @HR-102 @HR-030
  Rule: A stop cause that leaves the gear under tension stops the axis and keeps it at rest
    Scenario Outline: <stop cause>, with <axis> <activity> towards its <end> end
      Given everything is prepared for <axis> <activity> towards its <end> end
      When <axis> is <activity> towards its <end> end
      And <stop cause>
      Then <axis> stops as its stop cause requires
      When <axis> has reached standstill without torque
      And <axis> is commanded towards its <end> end at full rate
      Then <axis> stays at rest until its stop is reset
      When everything is put right and the mode selector is at remote
      And the reset button is pressed and a reset is commanded
      Then <axis> stays at rest after its stop is reset

      Examples: the stop matrix, causes that are reset
        | stop cause | axis | activity | end |

  Rule: Any other stop cause stops the axis
    Scenario Outline: <stop cause>, with <axis> <activity> towards its <end> end
      Given everything is prepared for <axis> <activity> towards its <end> end
      When <axis> is <activity> towards its <end> end
      And <stop cause>
      Then <axis> stops as its stop cause requires

      Examples: the stop matrix, other causes
        | stop cause | axis | activity | end |

  @HR-020 @HR-021 @HR-022 @HR-023 @HR-024 @HR-035 @HR-036 @HR-037 @HR-038 @HR-112 @HR-040 @HR-103 @HR-041 @HR-104 @HR-042
  Rule: A second stop cause does not keep the first one from what it requires
    Scenario Outline: <first cause>, and <time> later <second cause>
      Given <axis> rests in mid-travel
      When <axis> moves towards its <end> end at full rate
      And <first cause>
      And <time> pass
      And <second cause>
      Then <axis> stops as its first stop cause requires

      Examples: stop causes that follow each other
        | first cause | second cause | axis | end | time |

  @HR-022 @HR-023 @HR-024 @HR-041 @HR-104 @HR-042
  Rule: A stop cause after a stop that keeps the torque removes it and is reported
    Scenario Outline: <second cause>, after <axis> has been stopped by <first>
      Given <axis> rests in mid-travel
      When <axis> moves towards its <end> end at full rate
      And <first cause>
      And <axis> has reached standstill
      And <second cause>
      Then the later stop cause of <axis> gets what it requires

      Examples:
        | axis      | end   | first       | first cause                             | second cause                             |
        | azimuth   | upper | an operator | the operator commands a stop            | the emergency stop is pressed            |
        | elevation | lower | an operator | the operator commands a stop            | the encoder of elevation stops responding |
        | azimuth   | lower | a pre-limit | the lower pre-limit of azimuth opens    | the emergency stop is pressed            |
        | elevation | upper | a pre-limit | the upper pre-limit of elevation opens  | the encoder of elevation raises its alarm |
