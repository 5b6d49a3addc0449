Feature: Each layer of the limit chain stops an axis when the layer before it has failed

  At each end of azimuth and elevation follow, outward, the software limit, the pre-limit switch, the
  final-limit switch, the buffer and the structure. Each layer shall stop the axis by itself.

  @HR-001
  Rule: An axis commanded past its software limit comes to rest inside it
    Scenario Outline: <axis> is commanded past its <end> software limit
      Given <axis> rests <distance> inside its <end> software limit
      When <axis> is commanded outward at full rate
      Then <axis> comes to rest inside its <end> software limit

      @smoke
      Examples:
        | axis    | end   | distance |
        | azimuth | upper | 8 deg    |

      Examples:
        | axis      | end   | distance |
        | azimuth   | lower | 8 deg    |
        | elevation | lower | 6 deg    |
        | elevation | upper | 6 deg    |

  @HR-002 @HR-003 @HR-004
  Rule: Past its pre-limit an axis comes to rest before its final limit
    Scenario Outline: The <end> software limit of <axis> is configured too far out
      Given <axis> rests <distance> inside its <end> software limit
      And the limit switches, buffer and hard stop at the <end> end of <axis> stand <shift> inboard of their configured positions
      When <axis> is commanded outward at full rate
      Then <axis> comes to rest between its <end> pre-limit and its <end> final limit
      And <axis> stops within its category 2 travel after its pre-limit opens
      And the pre-limit is reported to the supervisory system within 1 s

      Examples:
        | axis      | end   | distance | shift  |
        | azimuth   | lower | 30 deg   | 20 deg |
        | azimuth   | upper | 30 deg   | 20 deg |
        | elevation | lower | 24 deg   | 16 deg |
        | elevation | upper | 24 deg   | 16 deg |

  @HR-002 @HR-011
  Rule: At an open pre-limit an axis moves inward only
    Scenario Outline: A second outward command to <axis> at its open <end> pre-limit
      Given <axis> rests <distance> inside its <end> software limit
      And the limit switches, buffer and hard stop at the <end> end of <axis> stand <shift> inboard of their configured positions
      When <axis> is commanded outward at full rate
      And <axis> has reached standstill
      And <axis> is commanded outward at full rate
      Then <axis> comes to rest between its <end> pre-limit and its <end> final limit

      Examples:
        | axis      | end   | distance | shift  |
        | azimuth   | upper | 30 deg   | 20 deg |
        | elevation | lower | 24 deg   | 16 deg |

  @HR-005 @HR-006 @HR-007 @HR-008 @HR-018
  Rule: Past its final limit an axis comes to rest before its buffer
    Scenario Outline: The <end> pre-limit switch of <axis> is welded and the software limit is configured too far out
      Given <axis> rests <distance> inside its <end> software limit
      And the limit switches, buffer and hard stop at the <end> end of <axis> stand <shift> inboard of their configured positions
      And the <end> pre-limit switch of <axis> is welded closed
      When <axis> is commanded outward at full rate
      Then <axis> comes to rest between its <end> final limit and its <end> buffer
      And the torque of <axis> is removed within its torque-off time after its final limit opens
      And the brakes of <axis> are set within their brake time after its final limit opens
      And the final limit is reported to the supervisory system within 1 s

      Examples:
        | axis      | end   | distance | shift  |
        | azimuth   | lower | 30 deg   | 20 deg |
        | azimuth   | upper | 30 deg   | 20 deg |
        | elevation | lower | 24 deg   | 16 deg |
        | elevation | upper | 24 deg   | 16 deg |

  @HR-009 @HR-010
  Rule: With every switch failed, the buffer stops an axis before its hard stop
    Scenario Outline: Both switches at the <end> end of <axis> are welded
      Given <axis> rests <distance> inside its <end> software limit
      And the limit switches, buffer and hard stop at the <end> end of <axis> stand <shift> inboard of their configured positions
      And the <end> pre-limit switch of <axis> is welded closed
      And the <end> final-limit switch of <axis> is welded closed
      When <axis> is commanded outward at full rate
      Then <axis> comes to rest inside its <end> hard stop

      Examples:
        | axis      | end   | distance | shift  |
        | azimuth   | lower | 30 deg   | 20 deg |
        | azimuth   | upper | 30 deg   | 20 deg |
        | elevation | lower | 24 deg   | 16 deg |
        | elevation | upper | 24 deg   | 16 deg |

  @HR-015 @HR-016 @HR-017
  Rule: From a final limit an axis is recovered under hand control only: inward, slowly, with the override key
    Scenario Outline: The hand control of <axis> is held inward at its <end> final limit without the override key
      Given <axis> rests <distance> inside its <end> software limit
      And the limit switches, buffer and hard stop at the <end> end of <axis> stand <shift> inboard of their configured positions
      And the <end> pre-limit switch of <axis> is welded closed
      When <axis> is commanded outward at full rate until its <end> final limit has stopped it
      And the mode selector is turned to local
      And the hand control of <axis> is held inward for 9 s without the override key
      Then <axis> has not moved without the override key

      Examples:
        | axis      | end   | distance | shift  |
        | azimuth   | upper | 30 deg   | 20 deg |
        | elevation | lower | 24 deg   | 16 deg |

    Scenario Outline: The hand control of <axis> is held outward at its <end> final limit with the override key turned
      Given <axis> rests <distance> inside its <end> software limit
      And the limit switches, buffer and hard stop at the <end> end of <axis> stand <shift> inboard of their configured positions
      And the <end> pre-limit switch of <axis> is welded closed
      When <axis> is commanded outward at full rate until its <end> final limit has stopped it
      And the mode selector is turned to local
      And the hand control of <axis> is held outward for 9 s with the override key turned
      Then <axis> has not moved outward

      Examples:
        | axis      | end   | distance | shift  |
        | azimuth   | upper | 30 deg   | 20 deg |
        | elevation | lower | 24 deg   | 16 deg |

    Scenario Outline: Recovery of <axis> from its <end> final limit with the override key turned
      Given <axis> rests <distance> inside its <end> software limit
      And the limit switches, buffer and hard stop at the <end> end of <axis> stand <shift> inboard of their configured positions
      And the <end> pre-limit switch of <axis> is welded closed
      When <axis> is commanded outward at full rate until its <end> final limit has stopped it
      And the mode selector is turned to local
      And the hand control of <axis> is held inward for 9 s with the override key turned
      Then <axis> has moved inward at no more than a tenth of its full rate

      Examples:
        | axis      | end   | distance | shift  |
        | azimuth   | upper | 30 deg   | 20 deg |
        | elevation | lower | 24 deg   | 16 deg |

  @HR-015
  Rule: The stop by a final limit stays latched after its contact has closed again
    Scenario: The upper final limit of azimuth opens for 300 ms
      Given azimuth rests in mid-travel
      When azimuth moves towards its upper end at full rate
      And the upper final limit of azimuth opens for 300 ms
      And azimuth has reached standstill without torque
      And the mode selector is turned to local
      And the hand control of azimuth is held inward for 9 s without the override key
      Then azimuth has not moved without the override key

  @HR-016
  Rule: A final limit that has closed again is still not passed with the override key
    Scenario Outline: Outward under hand control with the override key, after the <end> final limit of <axis> opened for 300 ms
      Given <axis> rests in mid-travel
      When <axis> moves towards its <end> end at full rate
      And the <end> final limit of <axis> opens for 300 ms
      And <axis> has reached standstill without torque
      And the mode selector is turned to local
      And the hand control of <axis> is held outward for 9 s with the override key turned
      Then <axis> has not moved outward

      Examples:
        | axis      | end   |
        | azimuth   | lower |
        | elevation | upper |

  @HR-007 @HR-008
  Rule: The override key does not let an axis pass its final limit
    Scenario Outline: <axis> is moved outward under hand control to its <end> final limit with the override key turned
      Given <axis> rests 12 deg inside its <end> software limit
      And the limit switches, buffer and hard stop at the <end> end of <axis> stand <shift> inboard of their configured positions
      And the <end> pre-limit switch of <axis> is welded closed
      And the mode selector is at local
      When the override key is turned
      And <axis> is moved under hand control towards its <end> end
      And <axis> has reached standstill without torque
      Then <axis> comes to rest between its <end> final limit and its <end> buffer
      And the final limit is reported to the supervisory system within 1 s

      Examples:
        | axis      | end   | shift  |
        | azimuth   | upper | 12 deg |
        | elevation | lower | 12 deg |

  @HR-011
  Rule: At an open pre-limit the hand control moves an axis inward only
    Scenario Outline: The hand control of <axis> is held outward at its open <end> pre-limit
      Given <axis> rests <distance> inside its <end> software limit
      And the limit switches, buffer and hard stop at the <end> end of <axis> stand <shift> inboard of their configured positions
      When <axis> is commanded outward at full rate
      And <axis> has reached standstill
      And <axis> is commanded to rest on its brakes
      And <axis> has reached standstill without torque
      And the mode selector is turned to local
      And the hand control of <axis> is held outward for 9 s without the override key
      Then <axis> has not moved outward at its pre-limit

      Examples:
        | axis      | end   | distance | shift  |
        | azimuth   | lower | 30 deg   | 20 deg |
        | elevation | upper | 24 deg   | 16 deg |

  @HR-123
  Rule: The override key bypasses one final limit and not both
    Scenario Outline: Both final limits of <axis> are open, as by a broken wire, and the hand control is held with the override key
      Given <axis> rests in mid-travel
      And the fault final_limit_open is present on <name>.lower
      And the fault final_limit_open is present on <name>.upper
      And the mode selector is at local
      When the hand control of <axis> is held inward for 9 s with the override key turned
      Then <axis> has not moved under hand control

      Examples:
        | axis      | name      |
        | azimuth   | azimuth   |
        | elevation | elevation |

  @HR-008
  Rule: With the override key left on, a final limit that opens is still reported
    Scenario Outline: The <end> final limit of <axis> opens while it moves with the override key left on
      Given <axis> rests in mid-travel
      And the fault override_key_left_on is present on station
      When <axis> moves towards its <end> end at full rate
      And the <end> final limit of <axis> opens
      Then the final limit is reported to the supervisory system within 1 s

      Examples:
        | axis      | end   |
        | azimuth   | upper |
        | elevation | lower |
