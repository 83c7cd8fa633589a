"""Given names with letters beyond ASCII: evidence for an older encoding of a guest list.

A few hundred that are common in their countries, from memory. A table that makes one of
them of a word's bytes is likelier to be right than one that makes letters at random.
"""

_NAMES = """
Jürgen Günter Günther Jörg Björn Sören Götz Käthe Bärbel Grün Müller Köhler Jäger Schäfer
Schröder König Krüger Böhm Möller Strauß Weiß Groß Jörn Ömer Lüdke Hänsel René Renée André
Andrée Zoë Zoé Chloé Chloë Noé Noël Noëlle Joël Joëlle Gaël Gaëlle Maël Raphaël Michaël
Mickaël Anaïs Loïc Loïs Éloïse Héloïse Maïa Inès Agnès François Françoise Benoît Benoite
Frédéric Frédérique Éric Érica Élodie Élise Élisabeth Élie Émile Émilie Étienne Édouard
Édith Stéphane Stéphanie Sébastien Sébastian Jérôme Jérémy Jérémie Gérard Gérald Hélène
Irène Céline Cécile Cédric Thérèse Térésa Véronique Valérie Léa Léo Léon Léonie Mélanie
Mélissa Aurélie Aurélien Amélie Noémie Rémi Rémy Réjean Grégoire Grégory Geneviève Bérénice
Clémence Clément Océane Solène Hervé Josée Aimée Désirée Daphné Félix Théo Théa José María
Mária Jesús Ángel Ángela Ángeles Óscar Andrés Íñigo Iñigo Iñaki Begoña Peña Muñoz Núñez
Ibáñez Yáñez Nuñez Raúl Saúl Joaquín Martín Agustín Fermín Sofía Lucía Inés Mónica Verónica
Belén Rocío Julián Adrián Damián Fabián Sebastián Germán Hernán Tomás Nicolás Matías Elías
Álvaro Érika Iván Ramón Rubén Simón Víctor Héctor César Pérez López Gómez Sánchez Martínez
García Hernández Jiménez Álvarez González Rodríguez Fernández Ramírez Díaz João Conceição
Assunção Gonçalo Gonçalves Estêvão Sebastião Damião Simão Inês Antônio António Lúcia Cláudia
Flávia Flávio Fábio Patrícia Letícia Vitória Luís Luísa Magalhães Guimarães Simões Camões
Araújo Júlia Júlio Mário Otávio Thaís Taís Raíssa Nicolò Niccolò Mosè Noè Salomè Àlex Núria
Mercè Jordà Àngel Lluïsa Åsa Åke Ångström Göran Jörgen Björk Märta Märit Pär Håkan Mårten
Sjöberg Öberg Lindström Åsmund Søren Bjørn Jørgen Jørn Bjørg Øystein Øyvind Håkon Pål Kåre
Ståle Bård Åse Åshild Gård Mærsk Pætur Sørensen Jørgensen Nørgård Väinö Päivi Mäkinen
Jääskeläinen Hämäläinen Heikkilä Tõnu Jüri Õnne Ülle Kärt Pärt Guðrún Guðmundur Sigríður Þór
Þóra Jón Ásta Ólafur Siân Siobhán Seán Séamus Máire Mícheál Pádraig Róisín Caoimhín Órla
Łukasz Michał Paweł Rafał Małgorzata Grażyna Bożena Elżbieta Wiśniewski Wójcik Kowalczyk
Dąbrowski Zieliński Szymański Woźniak Kozłowski Jabłoński Kamińska Agnieszka Stanisław
Władysław Mirosław Jarosław Bogusław Józef Jędrzej Błażej Kołodziej Ścibor Świętosława Jiří
Tomáš Lukáš Ondřej Matěj Vojtěch Štěpán Jaromír Bořivoj Růžena Zdeněk Eliška Tereza Novák
Dvořák Černý Procházka Kučera Veselý Horák Němec Pospíšil Žofie Šárka Jiřina Věra Jindřich
Bedřich Řehoř Štefan Ľubomír Ľudmila Miloš Aleš Tibor Žaneta Ján Jozefína Matúš Zuzana
Kovács Szabó Tóth Horváth Nagyné Zoltán István László Gábor Attila Károly Péter Pál Zsófia
Éva Katalin Ágnes György András Balázs Enikő Gergő Erzsébet Győző Jenő Ștefan Ştefan Ion
Mihăiță Mihăiţă Bărbulescu Ștefania Şerban Șerban Ionuț Ionuţ Călin Cătălin Cătălina Răzvan
Mădălina Brândușa Ruxăndra Crăciun Brînduşa Rădulescu Nicolăescu Željko Željka Šime Živko
Ćiro Ivančić Kovačević Petrović Đorđe Đuro Božidar Dražen Miša Saša Nataša Nevenka Žiga Jože
Tončka Špela Urška Črtomir Matjaž Zoran Tomaž Ąžuolas Žygimantas Rūta Jūratė Jonė Eglė Austė
Živilė Šarūnas Giedrė Ēriks Jānis Pēteris Mārtiņš Kārlis Līga Inta Zane Kristīne Ģirts Ņina
Ļubova Ķirsis Žanis Edgars Rūdolfs Gökhan Gülay Gülşen Şükrü Çağla Çiğdem Özlem Özgür Öykü
Ümit Ülkü Işıl Ayşe Ayşegül Fatoş Neşe Nurgül Yıldız Yılmaz Doğan Çelik Öztürk Şahin Aydın
Kılıç Aslı Barış Uğur Tuğba Buğra
"""
KNOWN = frozenset(
    name.casefold() for name in _NAMES.split() if any(c > "\x7f" for c in name)
)
"""Case-folded."""
