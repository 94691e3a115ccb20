"""The messy tables themselves, by the names of their files."""

from datetime import date

D = date
TEXTS = {
    "01-four-cars.csv": (
        "utf-8",
        """
Car,Year,Reg,Owner,Where,Battery,Tyres,Fuel,Last driven
Wendlow Twelve,1962,HB 62 A,A. Wren,A1,70 Ah AGM,32/32/30/30,petrol,Sept 2025
Tarnley GT,ca. 1971,TR 71 C,A Wren,A2,12V 60Ah,28,E5,12/10/2025
Brackwater Saloon,1958,KD 58 M,Cleo Marsh,outside,6V,24/26,super,13/09/2025
Total,,,,,,,,
""",
    ),
    "02-bestand.csv": (
        "cp1252",
        """
Fahrzeugliste Stand Nov 2026;;;;;;;;;

Marke;Typ;Bj.;Kennzeichen;Halter;Stellplatz;Batterie;Kraftstoff;zuletzt gefahren;Tankinhalt
Wendlow;Zwölf;1962;HB 62 A;A. Wren;A1;Vlies;Super;3. März 2025;45 Liter
Tarnley;GT;ca. 1971;TR 71 C;Cleo Marsh;A2;Blei-Säure;Benzin;Okt 2024;60 l
""",
    ),
    "03-wartung.csv": (
        "utf-8-sig",
        """
Datum;Kennzeichen;Arbeit;Spannung;Kürzel;Bemerkung
3.11.2026;HB 62 A;Batterie geladen 12,6V;;JM;
4.11.2026;TR 71 C;Probefahrt, 20 km;12,7;JM;läuft gut
5.11.2026;KD 58 M;nicht gefahren;;JM;
""",
    ),
    "04-volts-by-week.csv": (
        "utf-8",
        """
Battery voltages 2026,,,,
Reg,Car,7 Nov,14 Nov,21 Nov
HB 62 A,Wendlow Twelve,12.6,12.5,12.4
TR 71 C,Tarnley GT,12V6,,12.1
""",
    ),
    "05-cars-across.csv": (
        "utf-8",
        """
Date,HB 62 A,TR 71 C,KD 58 M
31/10/2026,12.6,12.5,6.2
08/11/2026,12.5,12.4,6.1
""",
    ),
    "06-two-rows-of-headings.csv": (
        "utf-8",
        """
Weekly,,,,,,
,,Tyres (psi),,,,Battery
Date,Reg,FL,FR,RL,RR,V
31/10/2026,HB 62 A,26,26,28,28,12.6
""",
    ),
    "07-no-headings.csv": (
        "utf-8",
        """
31/10/2026,HB 62 A,12.6 V,all ok
07/11/2026,TR 71 C,12.4 V,slow puncture
""",
    ),
    "08-on-its-side.csv": (
        "utf-8",
        """
Make,Wendlow,Tarnley
Model,Twelve,GT
Year,1962,1971
Reg,HB 62 A,TR 71 C
Owner,Ada Wren,Ada Wren
Bay,A1,A2
""",
    ),
    "09-diary.csv": (
        "utf-8",
        """
Date,Car,What
3 Nov 2026,Wendlow Twelve,"drive, 12 miles"
4 Nov 2026,Wendlow Twelve,changed oil and washed
5 Nov 2026,Wendlow Twelve,SG 1265
6 Nov 2026,Wendlow Twelve,polished the brass
""",
    ),
    "10-gallons.csv": (
        "utf-8",
        """
Make,Model,Owner,Gallons in tank,Tank (US gal),Miles driven
Wendlow,Twelve,Ada Wren,6,12,1200
""",
    ),
    "11-entretien.csv": (
        "utf-8",
        """
Date;Immatriculation;Intervention;Tension;Par;Remarques
3 novembre 2026;HB 62 A;Mise en charge;12,4;JM;
4 nov. 2026;TR 71 C;Essai routier 15 km;;JM;RAS
5 nov. 2026;TR 71 C;Vidange;;JM;
6 nov. 2026;KD 58 M;Pneus gonflés;;JM;
""",
    ),
    "12-voitures.csv": (
        "cp1252",
        """
Marque;Modèle;Année;Immat.;Propriétaire;Emplacement;Batterie;Carburant;Dernière sortie;Sur chandelles
Wendlow;Douze;1962;HB 62 A;Ada Wren;A1;sans entretien;SP98;14 juillet 2025;oui
Tarnley;GT;env. 1971;TR 71 C;Ada Wren;A2;plomb;essence;août 2024;non
""",
    ),
    "13-manutenzione.csv": (
        "utf-8",
        """
Data;Targa;Lavoro;Tensione;Note
3 novembre 2026;HB 62 A;Batteria caricata;12,7;
4 novembre 2026;TR 71 C;Giro, 22 km;;
5 novembre 2026;KD 58 M;Cambio olio;;filtro nuovo
6 novembre 2026;KD 58 M;Tagliando;;
""",
    ),
    "14-vetture.csv": (
        "utf-8",
        """
Marca;Modello;Anno;Targa;Proprietario;Posto;Batteria;Alimentazione;Ultimo uso
Wendlow;Dodici;1962;HB 62 A;Ada Wren;A1;gel;carburatori;3 maggio 2025
""",
    ),
    "15-trabajos.csv": (
        "utf-8",
        """
Fecha;Matrícula;Trabajo;Voltios;Observaciones
3 de noviembre de 2026;HB 62 A;Batería cargada;12,6;
4 de noviembre de 2026;TR 71 C;Prueba en carretera 18 km;;
5 de noviembre de 2026;KD 58 M;Inspección;;todo bien
""",
    ),
    "16-coches.csv": (
        "utf-8",
        """
Marca;Modelo;Año;Matrícula;Propietario;Plaza;Combustible;Último uso;Depósito
Wendlow;Doce;1962;HB 62 A;Ada Wren;A1;gasolina 95;mayo 2025;45 litros
""",
    ),
    "17-no-year.csv": (
        "utf-8",
        """
Reg,When,Volts
HB 62 A,7 Nov,12.6
TR 71 C,14/11,12.4
""",
    ),
    "18-month-or-day.csv": (
        "utf-8",
        """
Reg,Date,Volts
HB 62 A,03/04/2026,12.6
TR 71 C,05/06/2026,12.4
""",
    ),
    "19-month-first.csv": (
        "utf-8",
        """
Plate,Date,Work,Odometer
HB 62 A,10/31/2026,Trickle charger on,12000
TR 71 C,11/02/2026,Oil change,43210
""",
    ),
    "20-old-dates.csv": (
        "utf-8",
        """
Reg,Date,Work
HB 62 A,01/01/0001,charged
TR 71 C,31/12/1799,charged
KD 58 M,12-Nov-2026,charged
""",
    ),
    "21-twice.csv": (
        "utf-8",
        """
Reg,Date,Work
HB 62 A,3 Nov 2026,charged
HB62A,3 Nov 2026,charged
HB 62 A,4 Nov 2026,charged
""",
    ),
    "22-headings-again.csv": (
        "utf-8",
        """
Reg,Date,Volts
HB 62 A,3 Nov 2026,12.6
Reg,Date,Volts
TR 71 C,3 Nov 2026,12.5
Average,,12.55
""",
    ),
    "23-pipes.txt": (
        "utf-8",
        """
Reg|Date|Battery V|Remarks
HB 62 A|2026-11-03|12.62 V|fine
TR 71 C|2026-11-03|12620 mV|fine
""",
    ),
    "24-tabs.tsv": (
        "utf-16",
        """
Reg\tDate\tTime\tVolts
HB 62 A\t03.11.2026\t14:30\t12,6
TR 71 C\t04.11.2026\t9:05\t12,5
""",
    ),
    "25-pressures.csv": (
        "utf-8",
        """
Reg,Date,Tyre pressures
HB 62 A,3 Nov 2026,26/26/28/28
TR 71 C,3 Nov 2026,1.8/2.0 bar
KD 58 M,3 Nov 2026,24
""",
    ),
    "26-pressures-unsure.csv": (
        "utf-8",
        """
Reg,Date,FL,FR
HB 62 A,3 Nov 2026,9,10
""",
    ),
    "27-temperatures.csv": (
        "utf-8",
        """
Reg,Date,Volts,Temp
HB 62 A,3 Nov 2026,12.6,41
""",
    ),
    "28-ticks.csv": (
        "utf-8",
        """
Reg,Date,OK,Faults
HB 62 A,3 Nov 2026,✓,
TR 71 C,3 Nov 2026,n,"oil leak; flat tyre"
""",
    ),
    "29-unknown-words.csv": (
        "utf-8",
        """
Make,Model,Owner,Battery,Fuel,Last driven,Stored since
Wendlow,Twelve,Ada Wren,Zorblite,jungle juice,never,?
Tarnley,GT,Ada Wren,unknown,n/a,-,TBC
""",
    ),
    "30-swiss.csv": (
        "utf-8",
        """
Marke;Modell;Jahrgang;Kennzeichen;Besitzer;Tankgröße;Motor
Wendlow;Zwölf;1962;HB 62 A;Ada Wren;45,5 l;1'498 ccm
""",
    ),
    "31-quoted.csv": (
        "utf-8",
        """
"Collection of ""A. Wren"", Hollin"

"Make","Model","Owner","Notes"
"Wendlow","Twelve","Ada Wren","first line
second line"
""",
    ),
    "32-ahead.csv": (
        "utf-8",
        """
Make,Model,Year,Owner,Last driven,Battery fitted
Wendlow,Twelve,1962,Ada Wren,3 Mar 2095,4 May 1950
""",
    ),
    "33-mixed-work.csv": (
        "utf-8",
        """
Reg,Date,Job
HB 62 A,3 Nov 2026,"Charged, tyres pumped + run 20 min"
TR 71 C,4 Nov 2026,Not started
KD 58 M,5 Nov 2026,brake fluid changed / coolant changed
HB 62 A,6 Nov 2026,fuel added 20 litres
""",
    ),
    "45-workshop-book.csv": (
        "utf-8",
        """
Workshop book;;;;
Kept by;J. Marsh;;;
;;;;
Tag;Wagen;Was gemacht;Volt;km-Stand
02.11.26;HB 62 A;geladen;12,71;12.004
03.11.26;TR 71 C;Probefahrt 15 km;;43.225
05.11.26;KD 58 M;Reifen aufgepumpt;;
""",
    ),
    "46-insurance-list.csv": (
        "utf-8",
        """
Schedule of vehicles insured at 1 October 2026

No.,Vehicle,Registration,Chassis no,Year of manufacture,Agreed value,Keeper
1,Wendlow Twelve,HB 62 A,W12-00417,1962,"18,500",Ada Wren
2,Tarnley GT,TR 71 C,TGT/71/0093,1971,"£42,000",Ada Wren
3,Brackwater Saloon,KD 58 M,-,1958,n/a,Cleo Marsh
,,,,Total,"60,500",
""",
    ),
    "47-fuel-book.csv": (
        "utf-8",
        """
Date,Reg,Litres added,Fuel,Stabiliser
3 Nov 2026,HB 62 A,20,E5,yes
10 Nov 2026,TR 71 C,35.5,E10,
""",
    ),
    "48-battery-round.csv": (
        "utf-8",
        """
Battery round,,,
Car,Date,Reading,Done by
Wendlow Twelve,03/11/2026,12V45,JM
Tarnley GT,03/11/2026,SG 1260,JM
Brackwater Saloon,13/11/2026,6.21 volts,AW
""",
    ),
    "49-tyre-card.csv": (
        "utf-8",
        """
Reg;Date;VL;VR;HL;HR
HB 62 A;03.11.2026;2,0 bar;2,0 bar;2,2 bar;2,2 bar
TR 71 C;04.11.2026;1,8 bar;1,8 bar;1,9 bar;1,9 bar
""",
    ),
    "50-garage-list.csv": (
        "utf-8",
        """
MAKE / MODEL,YEAR,REG,BATTERY,OWNER NAME,STORED SINCE,LAST RUN
Wendlow Twelve,'62,HB 62 A,"AGM, 70 Ah",Wren Ada,Oct-25,1st March 2026
Tarnley GT,c1971,TR 71 C,12 volt 60 amp hour,Cleo Marsh,2024,22nd Feb 2026
""",
    ),
    "51-carnet.csv": (
        "utf-8",
        """
Carnet d'entretien;;;
Le;Véhicule;Travaux effectués;Observations
03/11/2026;HB 62 A;Batterie chargée;12,6 V
14/11/2026;TR 71 C;Liquide de frein remplacé;DOT 4
15/11/2026;KD 58 M;Pression des pneus;
""",
    ),
    "52-coolant.csv": (
        "utf-8",
        """
Plate,Checked on,Antifreeze %,Notes
HB 62 A,2026-11-03,45%,
TR 71 C,2026-11-03,30,weak
""",
    ),
    "53-month-blocks.csv": (
        "utf-8",
        """
Volts,,,,
Car,Oct 2026,,Nov 2026,
,5,19,2,16
HB 62 A,12.7,12.6,12.6,12.5
TR 71 C,12.6,,12.4,12.3
""",
    ),
    "54-odometers.csv": (
        "utf-8",
        """
Reg,Date,Mileage,Miles driven,Work
HB 62 A,3 Nov 2026,"12,004 miles",12,drive
TR 71 C,4 Nov 2026,"43,225 miles",,charged
""",
    ),
}
WEEKS = [["Reg", "Date", "Volts"], ["HB 62 A", D(2026, 11, 3), 12.6], ["TR 71 C", D(2026, 11, 3), 12.5]]
CARS = [
    ["Make", "Model", "Year", "Reg", "Owner", "In since"],
    ["Wendlow", "Twelve", 1962, "HB 62 A", "Ada Wren", D(2024, 3, 1)],
    ["Tarnley", "GT", 1971, "TR 71 C", "Ada Wren", D(2025, 4, 2)],
]
BOOKS = {
    "34-longest-sheet-is-not-it.xlsx": {
        "Prices": [["Item", "Price"], *[[f"Part {n}", n * 1.5] for n in range(60)]],
        "Cars": CARS,
        "Notes": [["To do"], *[[f"thing {n}"] for n in range(40)]],
    },
    "35-a-sheet-a-car.xlsx": {
        "HB 62 A": [["Date", "Work", "Volts"], [D(2026, 11, 3), "charged", 12.7]],
        "TR 71 C": [["Date", "Work", "Volts"], [D(2026, 11, 4), "inspected", None]],
        "Addresses": [["Name", "Street"], ["A. Wren", "Hollin Lane"]],
    },
    "36-a-sheet-a-year.xlsx": {
        "2025": [["Reg", "Date", "Volts"], ["HB 62 A", D(2025, 11, 3), 12.6]],
        "2026": [["Reg", "Date", "Volts", "Remarks"], ["HB 62 A", D(2026, 11, 3), 12.4, "low"]],
    },
    "37-formulas.xlsx": {
        "Log": [
            ["Reg", "Date", "Volts"],
            ["HB 62 A", D(2026, 11, 3), "=6.3*2"],
            ["TR 71 C", D(2026, 11, 3), 12.5],
        ]
    },
    "38-dates-across.xlsx": {
        "Volts": [
            ["Reg", D(2026, 11, 1), D(2026, 11, 8), D(2026, 11, 15)],
            ["HB 62 A", 12.6, None, 12.4],
            ["TR 71 C", 12.5, 12.4, 12.3],
        ]
    },
    "39-a-form-a-car.xlsx": {
        "Wendlow": [
            ["Make", "Wendlow"],
            ["Model", "Twelve"],
            ["Year", 1962],
            ["Owner", "Ada Wren"],
            ["Reg", "HB 62 A"],
        ],
        "Tarnley": [
            ["Make", "Tarnley"],
            ["Model", "GT"],
            ["Year", 1971],
            ["Owner", "Ada Wren"],
            ["Fuel", "E5"],
        ],
    },
    "40-numbers-as-dates.xlsx": {
        "Log": [["Reg", "Date", "Work"], ["HB 62 A", 46329, "charged"], ["TR 71 C", 20261104, "charged"]]
    },
    "41-opendocument.ods": {"Wagen": CARS, "Rest": [["x"]]},
    "42-opendocument-log.ods": {"Checks": [["Weekly checks"], [], *WEEKS]},
    "43-old-workbook.xls": {"Cars": CARS},
    "44-old-workbook-log.xls": {"Sheet1": [["Weekly checks 2026"], *WEEKS], "Sheet2": [["empty"]]},
}
