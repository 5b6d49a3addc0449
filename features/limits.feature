Feature: The limit chain stops an axis, each layer when the one before it has failed

  Software limit, pre-limit switch, final-limit switch, buffer and structure stand one behind the
  other at each end of azimuth and elevation. Each must stop the axis without help from the others.

  @HR-001
  Rule: An axis sent past its software limit comes to rest inside it
    Scenario Outline: A command would carry <axis> past its <end> software limit
      Given <axis> rests <distance> inside its <end> software limit
      When <axis> is sent outward at full rate
      Then <axis> comes to rest inside its <end> software limit

      @smoke
      Examples:
        | axis      | end   | distance |
        | azimuth   | upper | 8 deg    |

      Examples:
        | axis      | end   | distance |
        | azimuth   | lower | 8 deg    |
        | elevation | lower | 6 deg    |
        | elevation | upper | 6 deg    |

  @HR-002 @HR-003 @HR-004
  Rule: Past its pre-limit an axis comes to rest before its final limit
    Scenario Outline: The <end> software limit of <axis> never comes
      Given <axis> rests <distance> inside its <end> software limit
      And the limit chain at the <end> end of <axis> stands <shift> further in than the controller knows
      When <axis> is sent outward at full rate
      Then <axis> comes to rest between its <end> pre-limit and its <end> final limit
      And <axis> stops within its category 2 travel of the pre-limit opening
      And the pre-limit is reported to the supervisory system within 1 s

      Examples:
        | axis      | end   | distance | shift  |
        | azimuth   | lower | 30 deg   | 20 deg |
        | azimuth   | upper | 30 deg   | 20 deg |
        | elevation | lower | 24 deg   | 16 deg |
        | elevation | upper | 24 deg   | 16 deg |

  @HR-002 @HR-011
  Rule: At an open pre-limit an axis moves inward only
    Scenario Outline: A second command would carry <axis> further out from its <end> pre-limit
      Given <axis> rests <distance> inside its <end> software limit
      And the limit chain at the <end> end of <axis> stands <shift> further in than the controller knows
      When <axis> is sent outward at full rate
      And <axis> has come to a stop
      And <axis> is sent outward at full rate
      Then <axis> comes to rest between its <end> pre-limit and its <end> final limit

      Examples:
        | axis      | end   | distance | shift  |
        | azimuth   | upper | 30 deg   | 20 deg |
        | elevation | lower | 24 deg   | 16 deg |

  @HR-005 @HR-006 @HR-007 @HR-008 @HR-018
  Rule: Past its final limit an axis comes to rest before its buffer
    Scenario Outline: The <end> pre-limit switch of <axis> is welded and the software limit never comes
      Given <axis> rests <distance> inside its <end> software limit
      And the limit chain at the <end> end of <axis> stands <shift> further in than the controller knows
      And the <end> pre-limit switch of <axis> is welded closed
      When <axis> is sent outward at full rate
      Then <axis> comes to rest between its <end> final limit and its <end> buffer
      And the torque of <axis> is gone within its time of the final limit opening
      And the brakes of <axis> are set within their brake time of the final limit opening
      And the final limit is reported to the supervisory system within 1 s

      Examples:
        | axis      | end   | distance | shift  |
        | azimuth   | lower | 30 deg   | 20 deg |
        | azimuth   | upper | 30 deg   | 20 deg |
        | elevation | lower | 24 deg   | 16 deg |
        | elevation | upper | 24 deg   | 16 deg |

  @HR-009 @HR-010
  Rule: With every switch failed the buffer takes an axis before its structure
    Scenario Outline: Both switches at the <end> end of <axis> are welded
      Given <axis> rests <distance> inside its <end> software limit
      And the limit chain at the <end> end of <axis> stands <shift> further in than the controller knows
      And the <end> pre-limit switch of <axis> is welded closed
      And the <end> final-limit switch of <axis> is welded closed
      When <axis> is sent outward at full rate
      Then <axis> comes to rest inside its <end> structure

      Examples:
        | axis      | end   | distance | shift  |
        | azimuth   | lower | 30 deg   | 20 deg |
        | azimuth   | upper | 30 deg   | 20 deg |
        | elevation | lower | 24 deg   | 16 deg |
        | elevation | upper | 24 deg   | 16 deg |

  @HR-015 @HR-016 @HR-017
  Rule: From a final limit an axis is recovered by hand only, inward, slowly, with the key
    Scenario Outline: People bring <axis> back from its <end> final limit
      Given <axis> rests <distance> inside its <end> software limit
      And the limit chain at the <end> end of <axis> stands <shift> further in than the controller knows
      And the <end> pre-limit switch of <axis> is welded closed
      When <axis> is sent outward at full rate until its <end> final limit has stopped it
      And the mode selector is turned to local
      And <axis> is pushed inward by hand for 9 s without the override key
      Then <axis> has not moved without the key
      When <axis> is pushed outward by hand for 9 s with the override key
      Then <axis> has not moved outward
      When <axis> is pushed inward by hand for 9 s with the override key
      Then <axis> has moved inward at no more than a tenth of its full rate

      Examples:
        | axis      | end   | distance | shift  |
        | azimuth   | upper | 30 deg   | 20 deg |
        | elevation | lower | 24 deg   | 16 deg |

  @HR-015
  Rule: A final limit that has closed again stays in force
    Scenario: The upper final limit of azimuth opens for a moment
      Given azimuth rests in mid-travel
      When azimuth turns toward its upper end at full rate
      And the upper final limit of azimuth opens for 300 ms
      And azimuth has come to rest
      And the mode selector is turned to local
      And azimuth is pushed inward by hand for 9 s without the override key
      Then azimuth has not moved without the key
