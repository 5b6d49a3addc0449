Feature: Motion continues through minor disturbances of the network

  @HR-088
  Rule: Motion continues through occasional loss and delay of messages, and through warnings
    Scenario Outline: Motion continues while <device> has the fault <fault> with <how>, and azimuth.2.drive sends every message twice
      Given azimuth rests in mid-travel
      And the fault messages_repeated is present on azimuth.2.drive
      When azimuth moves towards its upper end at half rate
      And the fault <fault> begins on <device>, with <how>
      Then azimuth keeps moving undisturbed

      Examples:
        | device          | fault         | how                  |
        | azimuth.encoder | messages_lost | probability 2 %      |
        | azimuth.1.drive | messages_lost | probability 2 %      |
        | azimuth.encoder | delay         | by 1 ms, jitter 1 ms |

    Scenario: Motion continues while the elevation encoder is delayed and reports a battery warning
      Given azimuth rests in mid-travel
      And the fault delay is present on elevation.encoder, with by 500 us, jitter 500 us
      When azimuth moves towards its upper end at half rate
      And the fault encoder_warning begins on elevation
      Then azimuth keeps moving undisturbed
