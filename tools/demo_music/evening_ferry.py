"""Evening Ferry: A (with a middle strain in the left hand), B in the flat submediant, A again, coda."""

MUSIC = r"""
title = Evening Ferry
composer = Composed for Passagework
rights = Dedicated to the public domain (CC0 1.0)
time = 3/4
fifths = -1

// A: the tune, a call of a fourth upwards over broken tenths.
bar implicit
1: T"Andantino|96" !p ^"dolce" C5q
5: rq
bar |:
1: F5q.(-f5 E5e C5q
5: &P F2e(-f5 C3e-f2 A3e-f1 C4e A3e C3e) &*
bar
1: D5h) C5q(
5: &P F2e( D3e Bb3e D4e Bb3e D3e) &*
bar
1: Bb4q. C5e D5q
5: &P G2e( D3e Bb3e D4e Bb3e D3e) &*
bar
1: C5h) A4q(
5: &P A2e( F3e C4e F4e C4e F3e) &*
bar
1: !< G4q. A4e Bb4q !.
5: _"simile" Bb2e( F3e G3e D4e G3e F3e)
bar
1: D5q !> C5q A4q) !.
5: C3e( F3e A3e C4e A3e F3e)
bar ending=1
1: Bb4q.( A4e G4q)
5: C2e( G2e E3e G3e E3e G2e)
bar :| ending-stop=1
1: A4h C5q
5: F2e( C3e A3e C4e A3e C3e)
bar ending=2
1: Bb4q.( G4e E4q
5: C2e( G2e E3e G3e C4e Bb3e)
bar ending-stop=2
1: F4h) rq
5: F2e C3e F3q _"cantabile" A3q(

// The tune in the left hand.
bar
1: re F4+A4e~ F4+A4e F4+A4e~ F4+A4e F4+A4e
5: D4q. C4e A3q
6: D3h.
bar
1: re D4+F4e~ D4+F4e D4+F4e~ D4+F4e D4+F4e
5: Bb3h)-arp A3q(
6: G2h.-arp
bar
1: re E4+G4e~ E4+G4e E4+G4e~ E4+G4e E4+G4e
5: G3q. A3e Bb3q
6: C3h.
bar
1: re A4+C5e~ A4+C5e A4+C5e~ A4+C5e A4+C5e
5: A3h) C4q(
6: F3h.
bar
1: !< re A4+C5e~ A4+C5e A4+C5e~ A4+C5e A4+C5e
5: D4q. E4e F4q
6: D3h rq
bar
1: re B4+D5e~ B4+D5e B4+D5e~ B4+D5e D5+F5e !.
5: E4q D4q B3q
6: G3h.
bar
1: !mf C5+E5h rq
5: C3+C4q) C3s(-f5 D3s E3s F3s G3s-f1 A3s-f3 Bb3s C4s)
bar
1: _"leggiero" D4s(-f1 E4s F4s G4s-f1 A4s Bb4s C5s-f1 D5s E5s F5s-f1 G5s A5s
5: C3+Bb3h.
bar
1: Bb5s-f4 A5s G5s F5s !> E5s D5s C5s Bb4s ^"poco rit." C5q-ten) !.
5: E3+C4h rq

// The tune again, with a second voice under it and leaping basses.
bar
1: ^"a tempo" !mp F5q.( E5e C5q
2: re A4e C5e A4e F4e A4e
5: F2q A3+C4q-st A3+C4q-st
bar
1: D5h) C5q(
2: re F4e Bb4e F4e G4e F4e
5: Bb2q Bb3+D4q-st Bb3+D4q-st
bar
1: Bb4q. C5e D5q
2: re D4e G4e D4e F4e D4e
5: G2q G3+Bb3q-st G3+Bb3q-st
bar
1: C5h) A4q(
2: re C4e F4e C4e F4e C4e
5: A2q F3+A3q-st F3+A3q-st
bar
1: _"espressivo" !< G4q. Ab4e Bb4q !.
2: Db4h.
5: Bb2q F3+Bb3q-ten F3+Bb3q-ten
bar
1: D5q C5q-turn A4q)
2: F4h.
5: C3q A3+C4q A3+C4q
bar
1: G4h.(-tr-f2 g:F4s-after g:G4s-after
5: C2q E3+Bb3q E3+Bb3q
bar double
1: ^"poco rit." !> F4h.) !.
5: F2q A3+C4q Ab3+C4q

// B: three in the left hand against two in the right.
bar key=-5
1: T"Meno mosso|84" !pp F5h( Eb5e Db5e
5: &P ^"legatissimo" {3 Db2e( Ab2e F3e } {3 Ab3e Db4e Ab3e } {3 F3e Db3e Ab2e) } &*
bar
1: Eb5q. Db5e Bb4q)
5: &P {3- Eb2e( Bb2e Gb3e } {3- Bb3e Db4e Bb3e } {3- Gb3e Db3e Bb2e) } &*
bar
1: [ Db5e( C5e ] [ Db5e Eb5e ] [ F5e Gb5e~
5: &P {3- Ab2e( Eb3e Gb3e } {3- Ab3e Gb3e Eb3e } {3- C3e Eb3e Gb3e) } &*
bar
1: [ Gb5e F5e ] [ Eb5e F5e ] Db5q)
5: &P {3- Db2e( Ab2e F3e } {3- Ab3e Db4e Ab3e } {3- F3e Db3e Ab2e) } &*
bar
1: Bb5q.( Ab5e Gb5q
5: &P {3- Gb2e( Db3e Bb3e } {3- Db4e Gb4e Db4e } {3- Bb3e Gb3e Db3e) } &*
bar
1: [ F5e Ab5e ] [ Gb5e F5e ] [ Eb5e Db5e ]
5: &P {3- Ab2e( Db3e Ab3e } {3- Db4e Ab3e Db4e } {3- Ab3e F3e Db3e) } &*
bar
1: Eb5q. F5e C5q
5: &P {3- Ab2e( Eb3e Gb3e } {3- C4e Eb4e C4e } {3- Gb3e Eb3e Ab2e) } &*
bar
1: Db5q) {3 Ab4e-down F4e-down Ab4e-down } F4+F5q
5: &P Db3q ^1"m.s." Ab5q-staff1-up-ten rq &*

// The tune's head in the relative minor grows to the climax.
bar
1: !p Bb4+Bb5q.( _"cresc. e animando" A4+A5e F4+F5q
5: _"con pedale" Bb2e( F3e Db4e F3e Db4e F3e)
bar
1: Gb4+Gb5h) F4+F5q(
5: Gb2e( Db3e Bb3e Db3e Bb3e Db3e)
bar
1: Eb4+Eb5q. F4+F5e Gb4+Gb5q)
5: Eb2e( Bb2e Gb3e Bb2e Gb3e Bb2e)
bar
1: !< A4+C5+F5h A4+Eb5+A5q-acc !.
5: F2h.-tremolo_a-up F3h.-tremolo_b-up
bar
1: !f Bb5s-f4 Bb5s-f3 Bb5s-f2 Bb5s-f1 Bb5s Bb5s Ab5s Ab5s Gb5s Gb5s Gb5s Gb5s
5: Gb1+Gb2q-acc Bb3+Db4q Bb3+Db4q
bar
1: F5s F5s Ab5s Ab5s Gb5s Gb5s F5s F5s Eb5s Eb5s Db5s Db5s
5: Ab2q-acc Ab3+Db4q Gb3+Bb3q
bar double
1: !p _"subito" F4+B4+F5h.-arp
5: Db3+Ab3h.-arp
bar key=-1
1: ^"poco rit." C5+F5q( Bb4+E5q) C5q
5: C3+A3q C3+G3q rq

// A again: it starts alike and parts at the Neapolitan.
bar
1: T"Tempo I|96" !p ^"dolce" F5q.( E5e C5q
5: &P F2e( C3e A3e C4e A3e C3e) &*
bar
1: D5h) C5q(
5: &P F2e( D3e Bb3e D4e Bb3e D3e) &*
bar
1: Bb4q. C5e gs:E5e D5q
5: &P G2e( D3e Bb3e D4e Bb3e D3e) &*
bar
1: C5h) F5q
5: &P A2e( F3e C4e F4e C4e F3e) &*
bar
1: !mf Gb5q.( F5e Db5q)
5: &P Bb2e( Gb3e Db4e Gb4e Db4e Gb3e) &*
bar
1: !> C5q.( D5e A4q)
5: &P C3e( F3e A3e C4e A3e F3e) &*
bar
1: Bb4q.( A4e G4q !.
5: &P C2e( G2e E3e G3e E3e G2e) &*
bar
1: F4h.)
5: &P D3e( A3e D4e F4e D4e A3e) &*

// Coda.
bar
1: !mp !< G4+Bb4e(-f13 A4+C5e Bb4+D5e C5+E5e D5+F5e E5+G5e !.
5: Bb2e( F3e G3e D4e G3e F3e)
bar
1: F5+A5q. E5+G5e D5+F5q)
5: C3e( F3e A3e C4e A3e F3e)
bar
1: !> D5+F5q.( C5+E5e Bb4+D5q
5: C3+Bb3+D4h.
bar
1: A4+C5h) !. C6q
5: F2e( C3e A3q) rq =G
bar
1: !pp _"come un'eco" gs:C6e F6q.( E6e C6q
5: &P F4e( A4e C5e A4e C5e A4e) &*
bar
1: D6h) C6q
5: &P F4e( Bb4e D5e Bb4e D5e Bb4e) &*
bar
1: _"più piano" Db6h( C6q
5: &P F4e( Bb4e Db5q) rq &* =F
bar
1: A5h.-up)
5: &P F2e( C3e A3e C4e-staff1 F4e-staff1 A4e-staff1) &*
bar
1: ^"poco rit." Bb4q.( A4e G4q
5: &P F2e( C3e Bb3e C4e Bb3e E3e) &*
bar
1: A4h) C5q(
5: &P F2e( C3e A3h)
bar final
1: !ppp A4+C5+F5h.)-arp-ferm
5: F2+C3h.-arp-ferm &*
"""
